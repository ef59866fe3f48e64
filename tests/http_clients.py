"""Clients that tests ask the service with: a program with a token, and a browser that has signed in."""

from __future__ import annotations

from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from itsdangerous import URLSafeTimedSerializer
from werkzeug.test import TestResponse

from inventory.domain.common.records import PersonRecord
from inventory.domain.jobs import people
from inventory.store.tables import Person

FORM_KEY = "a form of our own"


class ApiClient(FlaskClient):
    """A program: sends its person's token with every request. ``person`` is who it acts as."""

    person: PersonRecord
    secret: str = ""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        """Ask with the token, unless the test sends another Authorization header."""
        headers = dict(kwargs.pop("headers", None) or {})
        if self.secret:
            headers.setdefault("Authorization", f"Bearer {self.secret}")
        return super().open(*args, headers=headers, **kwargs)


class PageClient(FlaskClient):
    """A browser that has signed in: posts forms with the token that our own pages would carry."""

    person: PersonRecord

    def post_form(self, address: str, **fields: Any) -> TestResponse:
        """Send a form as our own page would."""
        return self.post(address, data={"csrf_token": self.form_token(), **fields})

    def form_token(self) -> str:
        """Return the hidden field that shows a form came from our own page."""
        signer = URLSafeTimedSerializer(str(self.application.secret_key), salt="wtf-csrf-token")
        return str(signer.dumps(FORM_KEY))


def api_client(app: Flask, person: PersonRecord) -> ApiClient:
    """Make a program that acts as *person*."""
    client = ApiClient(app)
    client.person, client.secret = person, str(people.add_token(person.id, "test").secret)
    return client


def page_client(app: Flask, person: PersonRecord) -> PageClient:
    """Make a browser in which *person* has signed in."""
    client = PageClient(app)
    client.person = person
    with client.session_transaction() as session:
        session.update(
            person=person.id, mark=Person.get_by_id(person.id).session_mark, csrf_token=FORM_KEY, _permanent=True
        )
    return client
