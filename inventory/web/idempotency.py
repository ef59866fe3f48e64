"""Exactly-once over HTTP: wraps a writing view so that its Idempotency-Key (or hidden form field) is kept."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import wraps
from typing import Any

from flask import Request, Response, current_app, make_response, request

from inventory.domain.common.errors import DomainError, Stale
from inventory.domain.common.idempotency import StoredResponse, request_digest, run_claimed, run_once
from inventory.web import errors
from inventory.web.access import current_person, is_api_request

KEY_FIELD = "once"  # the hidden form field of pages
STORED_HEADERS = ("Content-Type", "Location", "ETag")


def idempotent(view: Callable[..., Any], *, external_effect: bool = False) -> Callable[..., Any]:
    """Let *view* act once for each key: a repeat gets the first answer again, marked Benchproof-Repeated.

    *outside*: the view writes nothing here but hands something out of the house, and so runs in no transaction.
    """
    carry_out = run_claimed if external_effect else run_once

    @wraps(view)
    def keep(*args: Any, **kwargs: Any) -> Any:
        key = request.headers.get("Idempotency-Key")
        if key is None and not is_api_request():
            key = request.form.get(KEY_FIELD)
        if key is None:
            return view(*args, **kwargs)

        made: Response | None = None

        def act() -> StoredResponse:
            nonlocal made
            try:
                made = make_response(view(*args, **kwargs))
            except Stale:
                raise  # nothing was done, nothing is kept: after another look the same may be sent again
            except DomainError as refused:
                if not is_api_request():
                    raise  # a page's refusal changed nothing and is not kept: the same button may be tried again
                made = errors.refusal_response(refused)
            return _to_stored_answer(made)

        who = f"person:{current_person().id}"
        answer = carry_out(who, key.strip(), _current_request_digest(), act)
        return _replay(answer) if made is None else made

    return keep


def _current_request_digest() -> str:
    asked: Request = request._get_current_object()  # type: ignore[attr-defined]  # looked up once, not each time
    return request_digest(current_app.config["SECRET_KEY"], asked.method, asked.full_path, _fingerprint_bytes(asked))


def _fingerprint_bytes(asked: Request) -> bytes:
    """Return what tells this request's body from another's; form fields in order, without the CSRF token."""
    if not is_api_request(asked) and asked.form:
        pairs = sorted(pair for pair in asked.form.items(multi=True) if pair[0] != "csrf_token")
        return repr(pairs).encode()
    return asked.get_data(cache=True)


def _to_stored_answer(made: Response) -> StoredResponse:
    headers = {name: made.headers[name] for name in STORED_HEADERS if name in made.headers}
    return StoredResponse(made.status_code, _body_without_secret(made), headers)


def _body_without_secret(made: Response) -> str:
    """Return the body to keep. A token's secret is shown once and never kept, not even for a replay."""
    text = made.get_data(as_text=True)
    body = json.loads(text) if '"secret"' in text and made.is_json else None
    if isinstance(body, dict) and body.get("secret"):
        return json.dumps({**body, "secret": None})
    return text


def _replay(answer: StoredResponse) -> Response:
    return Response(answer.body, answer.status, {**answer.headers, "Benchproof-Repeated": "true"})
