"""Idempotency over HTTP: stores the response of a writing view under its Idempotency-Key or hidden form field."""

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
    """Let *view* act once for each key: a repeat gets the first response again, marked Benchproof-Repeated.

    *external_effect*: the view writes nothing to the database but acts outside it, and so runs in no transaction.
    """
    run = run_claimed if external_effect else run_once

    @wraps(view)
    def respond(*args: Any, **kwargs: Any) -> Any:
        key = request.headers.get("Idempotency-Key")
        if key is None and not is_api_request():
            key = request.form.get(KEY_FIELD)
        if key is None:
            return view(*args, **kwargs)

        response: Response | None = None

        def act() -> StoredResponse:
            nonlocal response
            try:
                response = make_response(view(*args, **kwargs))
            except Stale:
                raise  # nothing was changed and nothing is stored: the same key may be sent again
            except DomainError as refused:
                if not is_api_request():
                    raise  # a page's refusal changed nothing and is not stored: the same button may be pressed again
                response = errors.refusal_response(refused)
            return _to_stored_response(response)

        stored = run(f"person:{current_person().id}", key.strip(), _current_request_digest(), act)
        return _replay(stored) if response is None else response

    return respond


def _current_request_digest() -> str:
    req: Request = request._get_current_object()  # type: ignore[attr-defined]  # resolves the proxy once
    return request_digest(current_app.config["SECRET_KEY"], req.method, req.full_path, _fingerprint_bytes(req))


def _fingerprint_bytes(req: Request) -> bytes:
    """Return the body to compare repeats by; of a form its sorted fields without the CSRF token."""
    if not is_api_request(req) and req.form:
        pairs = sorted(pair for pair in req.form.items(multi=True) if pair[0] != "csrf_token")
        return repr(pairs).encode()
    return req.get_data(cache=True)


def _to_stored_response(response: Response) -> StoredResponse:
    headers = {name: response.headers[name] for name in STORED_HEADERS if name in response.headers}
    return StoredResponse(response.status_code, _body_without_secret(response), headers)


def _body_without_secret(response: Response) -> str:
    """Return the body to store: a new token's secret is shown once and never stored."""
    text = response.get_data(as_text=True)
    body = json.loads(text) if '"secret"' in text and response.is_json else None
    if isinstance(body, dict) and body.get("secret"):
        return json.dumps({**body, "secret": None})
    return text


def _replay(stored: StoredResponse) -> Response:
    return Response(stored.body, stored.status, {**stored.headers, "Benchproof-Repeated": "true"})
