"""Exactly-once over HTTP: wraps a writing view so that its Idempotency-Key (or hidden form field) is kept."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import wraps
from typing import Any

from flask import Request, Response, current_app, make_response, request

from inventory.domain.common.errors import Refused, Stale
from inventory.domain.common.idempotency import Answer, answer_claimed, answer_once, request_digest
from inventory.web import errors
from inventory.web.access import caller, is_api

FIELD = "once"  # the hidden form field of pages
KEPT_HEADERS = ("Content-Type", "Location", "ETag")


def once(view: Callable[..., Any], *, outside: bool = False) -> Callable[..., Any]:
    """Let *view* act once for each key: a repeat gets the first answer again, marked Idempotent-Replayed.

    *outside*: the view writes nothing here but hands something out of the house, and so runs in no transaction.
    """
    carry_out = answer_claimed if outside else answer_once

    @wraps(view)
    def keep(*args: Any, **kwargs: Any) -> Any:
        key = request.headers.get("Idempotency-Key")
        if key is None and not is_api():
            key = request.form.get(FIELD)
        if key is None:
            return view(*args, **kwargs)

        made: Response | None = None

        def act() -> Answer:
            nonlocal made
            try:
                made = make_response(view(*args, **kwargs))
            except Stale:
                raise  # nothing was done, nothing is kept: after another look the same may be sent again
            except Refused as refused:
                if not is_api():
                    raise  # a page's refusal changed nothing and is not kept: the same button may be tried again
                made = errors.refusal(refused)
            return _kept(made)

        who = f"person:{caller().id}"
        answer = carry_out(who, key.strip(), _digest(), act)
        return _again(answer) if made is None else made

    return keep


def _digest() -> str:
    asked: Request = request._get_current_object()  # type: ignore[attr-defined]  # looked up once, not each time
    return request_digest(current_app.config["SECRET_KEY"], asked.method, asked.full_path, _body(asked))


def _body(asked: Request) -> bytes:
    """Return what tells this request's body from another's; form fields in order, without the CSRF token."""
    if not is_api(asked) and asked.form:
        pairs = sorted(pair for pair in asked.form.items(multi=True) if pair[0] != "csrf_token")
        return repr(pairs).encode()
    return asked.get_data(cache=True)


def _kept(made: Response) -> Answer:
    headers = {name: made.headers[name] for name in KEPT_HEADERS if name in made.headers}
    return Answer(made.status_code, _without_secret(made), headers)


def _without_secret(made: Response) -> str:
    """Return the body to keep. A token's secret is shown once and never kept, not even for a replay."""
    text = made.get_data(as_text=True)
    body = json.loads(text) if '"secret"' in text and made.is_json else None
    if isinstance(body, dict) and body.get("secret"):
        return json.dumps({**body, "secret": None})
    return text


def _again(answer: Answer) -> Response:
    return Response(answer.body, answer.status, {**answer.headers, "Idempotent-Replayed": "true"})
