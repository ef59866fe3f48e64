"""Turns every refusal and error into an answer: problem+json for programs (RFC 9457), a sentence for people."""

from __future__ import annotations

import json
import logging
from typing import Any

import peewee
from flask import Flask, Response, current_app, request
from werkzeug.exceptions import HTTPException

from inventory.domain.common.errors import DomainError, Invalid
from inventory.web.access import is_api_request

log = logging.getLogger("benchproof")

DETAILS = {
    400: "The request could not be read: check what was sent.",
    404: "There is nothing at this address: search, or go back.",
    405: "This address does not take that method: see the Allow header.",
    414: "That address is too long: send less in it.",
    415: "Send the body as application/json.",
    422: "Something in the request cannot be right: see the errors.",
    500: "Something went wrong on our side. Nothing was changed; try again, and tell the owner if it stays.",
    503: "The database does not answer: nothing was changed, try again in a moment.",
}

NUMBER_TOO_LARGE = "Together that is more than can be kept in one place: nothing was changed; check the numbers."

API_DETAILS = {
    404: "There is nothing at this address: ids are whole numbers, and /api/ lists every address.",
}
PAGE_DETAILS = {
    405: "This address takes only what a form sends: go back to the page that the form is on.",
    415: "The form could not be read: go back and send it again.",
    422: "Something that was typed cannot be right.",
}


def init_app(app: Flask) -> None:
    """Register the answers to everything that can go wrong."""
    app.register_error_handler(DomainError, _handle_refusal)
    app.register_error_handler(HTTPException, _handle_http_error)
    app.register_error_handler(peewee.DataError, _handle_number_too_large)
    app.register_error_handler(peewee.OperationalError, _handle_database_error)
    app.register_error_handler(Exception, _handle_unexpected_error)


def problem_response(status: int, title: str, detail: str, reason: str, **more: Any) -> Response:
    """Build a problem+json answer (RFC 9457): type, title, status, detail, reason, and *more*."""
    body = {"type": f"urn:benchproof:{reason}", "title": title, "status": status, "detail": detail, "reason": reason}
    return Response(
        json.dumps({**body, **more}, ensure_ascii=False, default=str), status, content_type="application/problem+json"
    )


def error_response(status: int, title: str, detail: str, reason: str, **more: Any) -> Response:
    """Build the answer to something that went wrong, for whoever asked."""
    if is_api_request():
        return problem_response(status, title, detail, reason, **more)
    from inventory.pages.form_actions import error_page

    return error_page(status, title, detail, reason, more)


def refusal_response(error: DomainError) -> Response:
    """Build the answer to a refusal."""
    more = dict(error.more)
    if isinstance(error, Invalid) and error.errors:
        more["errors"] = error.errors
    response = error_response(error.status, error.title, error.sentence, error.reason, **more)
    if error.status == 401:
        response.headers["WWW-Authenticate"] = "Bearer"
    if "wait_seconds" in error.more:
        response.headers["Retry-After"] = str(error.more["wait_seconds"])
    return response


def _handle_refusal(refused: DomainError) -> Response:
    return refusal_response(refused)


def _handle_http_error(error: HTTPException) -> Response:
    if error.code is not None and error.code < 400:
        return error.get_response()  # type: ignore[return-value]
    status = error.code or 500
    if status == 405 and request.method == "GET" and not is_api_request() and (above := _form_page_url()):
        return Response(status=303, headers={"Location": above})
    sentences = {**DETAILS, **(API_DETAILS if is_api_request() else PAGE_DETAILS)}
    detail = _body_too_large_text() if status == 413 else sentences.get(status) or error.description or error.name
    made = error_response(
        status, error.name if is_api_request() else error.name.capitalize(), detail, f"http_{status}"
    )
    for name, value in error.get_headers():
        if name.lower() in ("allow", "retry-after", "etag"):
            made.headers[name] = value
    return made


def _form_page_url() -> str | None:
    """Return the page that a form is on: a refused form leaves its own address in the browser, which asks for it
    again when the tab is woken.
    """
    if "text/html" not in request.headers.get("Accept", ""):
        return None
    path, ways = request.path.rstrip("/"), current_app.create_url_adapter(request)
    while ways and (path := path.rpartition("/")[0]):
        try:
            ways.match(path, method="GET")
        except HTTPException:
            continue
        return request.script_root + path
    return None


def _body_too_large_text() -> str:
    most = (request.max_content_length or 0) / 1_000_000
    return f"That is larger than {most:g} MB, the most that is taken here: send less, or a photo in a smaller size."


def _handle_number_too_large(error: peewee.DataError) -> Response:
    """PostgreSQL keeps no sum over some two thousand million in a column of stock; nothing was changed."""
    log.warning("refused by the database on %s %s: %s", request.method, request.path, error)
    return error_response(422, Invalid.title, NUMBER_TOO_LARGE, "too_large_a_number")


def _handle_database_error(error: peewee.OperationalError) -> Response:
    log.exception("database error on %s %s", request.method, request.path)
    return error_response(503, "Database busy", DETAILS[503], "database")


def _handle_unexpected_error(error: Exception) -> Response:
    log.exception("unexpected error on %s %s", request.method, request.path)
    return error_response(500, "Unexpected error", DETAILS[500], "unexpected")
