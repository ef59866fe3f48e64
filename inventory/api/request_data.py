"""Reads what a program sent: the JSON of a body, the query part of an address. Refuses in sentences."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any, NoReturn

from flask import request
from marshmallow import Schema, ValidationError

from inventory.domain.common.errors import Invalid, Refused

JSON = "application/json"


class Unreadable(Refused):
    """The body is not JSON."""

    status = 400
    title = "Unreadable body"


class WrongType(Refused):
    """The body says that it is something else than JSON."""

    status = 415
    title = "Wrong content type"


def loaded(schema: Schema, location: str) -> Any:
    """Return what was sent in the *location* ("json", "query" or "files"), checked by *schema*.

    Raises Invalid (422) naming the fields, Unreadable (400) for a body that is no JSON, WrongType (415) for one
    that claims to be something else.
    """
    read: Callable[[], Any] = {"query": _query, "files": _files}.get(location, body)
    given = read()
    try:
        return schema.load(given)
    except ValidationError as bad:
        errors = _plain(bad.normalized_messages())  # type: ignore[no-untyped-call]
        raise Invalid(_first(errors, location), errors=errors) from None


def refuse_query() -> None:
    """Refuse a query part at an address that takes none."""
    if request.query_string:
        sentence = "This address takes nothing after the question mark: leave it out."
        raise Invalid(sentence, errors={name: [sentence] for name in request.args})


def _query() -> dict[str, str]:
    twice = [name for name, values in request.args.lists() if len(values) > 1]
    if twice:
        sentence = f"{twice[0]} is there more than once: send it once."
        raise Invalid(sentence, errors={twice[0]: [sentence]})
    return request.args.to_dict()


def _files() -> dict[str, Any]:
    if request.mimetype != "multipart/form-data":
        raise WrongType("Send the file as multipart/form-data (RFC 7578).", reason="not_multipart")
    return request.files.to_dict()


def body() -> Any:
    """Return the JSON that the body holds; an empty body counts as an empty object."""
    sent = request.get_data(cache=True)
    if not sent:
        return {}
    if request.content_type != JSON and not request.is_json:
        raise WrongType("Send the body as JSON, with the header Content-Type: application/json.", reason="not_json")
    try:
        return _from_text(sent.decode())
    except (ValueError, RecursionError):
        raise Unreadable(
            "The body is no JSON in UTF-8: look for a missing quote, comma or bracket.", reason="bad_json"
        ) from None


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON")


_from_text = json.JSONDecoder(parse_constant=_no_number).decode


def _plain(messages: Any) -> Any:
    """Return marshmallow's messages with text for keys, and the schema's own under "body"."""
    if isinstance(messages, Mapping):
        return {"body" if key == "_schema" else str(key): _plain(value) for key, value in messages.items()}
    return messages


def _first(errors: Any, location: str) -> str:
    """Say the first thing that is wrong, and where: "lines, 0, quantity: This is missing: send it." """
    path = []
    while isinstance(errors, Mapping) and errors:
        key, errors = next(iter(errors.items()))
        path.append(key)
    said = errors[0] if isinstance(errors, list) and errors else str(errors)
    shown = "".join(c if c.isprintable() else "?" for c in ", ".join(path))[:80]
    return said if shown in ("", "body") else f"{shown}: {said}"
