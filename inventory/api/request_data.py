"""Reads what a program sent: the JSON of a body, the query part of an address. Refuses in sentences."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any, NoReturn

from flask import request
from marshmallow import Schema, ValidationError

from inventory.domain.common.errors import DomainError, Invalid

JSON = "application/json"


class UnreadableBody(DomainError):
    """The body is not JSON."""

    status = 400
    title = "Unreadable body"


class WrongContentType(DomainError):
    """The body says that it is something else than JSON."""

    status = 415
    title = "Wrong content type"


def load_request(schema: Schema, location: str) -> Any:
    """Return what was sent in the *location* ("json", "query" or "files"), checked by *schema*.

    Raises Invalid (422) naming the fields, Unreadable (400) for a body that is no JSON, WrongType (415) for one
    that claims to be something else.
    """
    read: Callable[[], Any] = {"query": _query_data, "files": _file_data}.get(location, json_body)
    data = read()
    try:
        return schema.load(data)
    except ValidationError as bad:
        errors = _normalize_messages(bad.normalized_messages())  # type: ignore[no-untyped-call]
        raise Invalid(_first_error(errors, location), errors=errors) from None


def reject_query() -> None:
    """Refuse a query part at an address that takes none."""
    if request.query_string:
        sentence = "This address takes nothing after the question mark: leave it out."
        raise Invalid(sentence, errors={name: [sentence] for name in request.args})


def _query_data() -> dict[str, str]:
    twice = [name for name, values in request.args.lists() if len(values) > 1]
    if twice:
        sentence = f"{twice[0]} is there more than once: send it once."
        raise Invalid(sentence, errors={twice[0]: [sentence]})
    return request.args.to_dict()


def _file_data() -> dict[str, Any]:
    if request.mimetype != "multipart/form-data":
        raise WrongContentType("Send the file as multipart/form-data (RFC 7578).", reason="not_multipart")
    return request.files.to_dict()


def json_body() -> Any:
    """Return the JSON that the body holds; an empty body counts as an empty object."""
    body = request.get_data(cache=True)
    if not body:
        return {}
    if request.content_type != JSON and not request.is_json:
        raise WrongContentType(
            "Send the body as JSON, with the header Content-Type: application/json.", reason="not_json"
        )
    try:
        return _decode_json(body.decode())
    except (ValueError, RecursionError):
        raise UnreadableBody(
            "The body is no JSON in UTF-8: look for a missing quote, comma or bracket.", reason="bad_json"
        ) from None


def _reject_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON")


_decode_json = json.JSONDecoder(parse_constant=_reject_constant).decode


def _normalize_messages(messages: Any) -> Any:
    """Return marshmallow's messages with text for keys, and the schema's own under "body"."""
    if isinstance(messages, Mapping):
        return {
            "body" if key == "_schema" else str(key): _normalize_messages(value) for key, value in messages.items()
        }
    return messages


def _first_error(errors: Any, location: str) -> str:
    """Say the first thing that is wrong, and where: "lines, 0, quantity: This is missing: send it." """
    path = []
    while isinstance(errors, Mapping) and errors:
        key, errors = next(iter(errors.items()))
        path.append(key)
    sentence = errors[0] if isinstance(errors, list) and errors else str(errors)
    where = "".join(c if c.isprintable() else "?" for c in ", ".join(path))[:80]
    return sentence if where in ("", "body") else f"{where}: {sentence}"
