"""Turns every refusal and error into a response: problem+json for programs (RFC 9457), a page for people."""

from __future__ import annotations

import json
import logging
from typing import Any

import peewee
from flask import Flask, Response, make_response, render_template, request
from werkzeug.exceptions import HTTPException

from inventory.domain.common.errors import DomainError, Invalid
from inventory.web.access import closest_page, is_api_request

log = logging.getLogger("benchproof")

ERROR_EXPLANATIONS = {
    400: "The body is no JSON in UTF-8.",
    401: "No token, or one that is unknown or ended.",
    403: "The role of the token's person does not reach.",
    404: "Something that was named does not exist.",
    405: "The address takes other methods: see the header Allow.",
    409: "The bench is not in a state for it, or the first request with this key is still under way.",
    412: "It was changed since it was read (If-Match).",
    413: "The body is too large.",
    414: "The address is too long.",
    415: "The body is not sent as application/json (a file: multipart/form-data).",
    422: "A field, a query part or a key cannot be right; errors names which.",
    428: "If-Match is missing.",
    429: "Too many wrong passphrases: wait as long as Retry-After says.",
    500: "Something went wrong on our side; nothing was changed.",
    503: "The database does not answer, or other photos are being read; nothing was changed.",
}
"""What each status of an error means. The page for programs lists them, and the type of a problem leads there."""

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
    """Register the error handlers of *app*."""
    app.register_error_handler(DomainError, refusal_response)
    app.register_error_handler(HTTPException, _handle_http_error)
    app.register_error_handler(peewee.DataError, _handle_number_too_large)
    app.register_error_handler(peewee.OperationalError, _handle_database_error)
    app.register_error_handler(Exception, _handle_unexpected_error)


def problem_type(status: int) -> str:
    """Return the type of a problem (RFC 9457): the place on /api/ that explains it, or about:blank."""
    return f"/api/#error-{status}" if status in ERROR_EXPLANATIONS else "about:blank"


def problem_response(status: int, title: str, detail: str, reason: str, **more: Any) -> Response:
    """Return a problem+json response (RFC 9457): type, title, status, detail, reason, and *more*."""
    body = {"type": problem_type(status), "title": title, "status": status, "detail": detail, "reason": reason}
    return Response(
        json.dumps({**body, **more}, ensure_ascii=False, default=str), status, content_type="application/problem+json"
    )


def error_response(status: int, title: str, detail: str, reason: str, **more: Any) -> Response:
    """Return the response to an error: a problem for programs, a page for people."""
    if is_api_request():
        return problem_response(status, title, detail, reason, **more)
    response = make_response(
        render_template("common/error.html", title=title, detail=detail, reason=reason, more=more), status
    )
    response.headers["Cache-Control"] = "no-store"
    return response


def refusal_response(error: DomainError) -> Response:
    """Return the response to a refusal."""
    more = dict(error.more)
    if isinstance(error, Invalid) and error.errors:
        more["errors"] = error.errors
    response = error_response(error.status, error.title, error.sentence, error.reason, **more)
    if error.status == 401:
        response.headers["WWW-Authenticate"] = "Bearer"
    if "wait_seconds" in error.more:
        response.headers["Retry-After"] = str(error.more["wait_seconds"])
    return response


def _handle_http_error(error: HTTPException) -> Response:
    if error.code is not None and error.code < 400:
        return error.get_response()  # type: ignore[return-value]
    status = error.code or 500
    if status == 405 and request.method == "GET" and not is_api_request() and (form_page := _form_page_url()):
        return Response(status=303, headers={"Location": form_page})
    sentences = {**DETAILS, **(API_DETAILS if is_api_request() else PAGE_DETAILS)}
    detail = _body_too_large_text() if status == 413 else sentences.get(status) or error.description or error.name
    response = error_response(
        status, error.name if is_api_request() else error.name.capitalize(), detail, f"http_{status}"
    )
    for name, value in error.get_headers():
        if name.lower() in ("allow", "retry-after", "etag"):
            response.headers[name] = value
    return response


def _form_page_url() -> str | None:
    """Return the page that a form is on: a browser that reloads a refused form requests the form's own address."""
    if "text/html" not in request.headers.get("Accept", ""):
        return None
    page = closest_page(request.path.rstrip("/").rpartition("/")[0])
    return None if page is None else request.script_root + page


def _body_too_large_text() -> str:
    limit = (request.max_content_length or 0) / 1_000_000
    return f"That is larger than {limit:g} MB, the most that is taken here: send less, or a photo in a smaller size."


def _handle_number_too_large(error: peewee.DataError) -> Response:
    """Answer 422: PostgreSQL stores no quantity of 2^31 or more; nothing was changed."""
    log.warning("refused by the database on %s %s: %s", request.method, request.path, error)
    return error_response(422, Invalid.title, NUMBER_TOO_LARGE, "too_large_a_number")


def _handle_database_error(error: peewee.OperationalError) -> Response:
    log.exception("database error on %s %s", request.method, request.path)
    return error_response(503, "Database busy", DETAILS[503], "database")


def _handle_unexpected_error(error: Exception) -> Response:
    log.exception("unexpected error on %s %s", request.method, request.path)
    return error_response(500, "Unexpected error", DETAILS[500], "unexpected")
