"""Entity tags (RFC 9110, section 8.8.3): a strong mark of what was read, sent back to edit just that.

A tag is the record's version (where it has one) and the start of the SHA-256 of the very bytes answered, so that it
also changes when something moves that counts as no edit, such as the bin of a piece.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from flask import Response, request
from marshmallow import Schema

from inventory.domain.common.errors import DomainError, Stale


class IfMatchMissing(DomainError):
    """An edit came without saying which state it is of."""

    status = 428
    title = "If-Match is missing"


def render_json(schema: Schema | None, record: Any) -> str:
    """Return the JSON text of *record* as *schema* shows it."""
    data = record if schema is None else schema.dump(record)
    return _encode_json(data) + "\n"


_encode_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def compute_etag(text: str, record: Any) -> str:
    """Return the entity tag (without quotes) of a *record* answered as *text*."""
    digest = hashlib.sha256(text.encode()).hexdigest()[:16]
    version = getattr(record, "version", None)
    return digest if version is None else f"{version}-{digest}"


def set_etag(response: Response, tag: str) -> Response:
    """Put *tag* on *response*; answer 304 without a body when the program has just that (If-None-Match)."""
    response.set_etag(tag)
    if response.status_code == 200 and request.method in ("GET", "HEAD") and _is_not_modified(tag):
        response.status_code = 304
        response.set_data(b"")
        del response.headers["Content-Type"]
    return response


def _is_not_modified(tag: str) -> bool:
    tags = request.if_none_match
    return bool(tags.star_tag or tags.contains_weak(tag))


def require_if_match() -> None:
    """Raise NoTag (428) for an edit without If-Match."""
    if not request.if_match.star_tag and not list(request.if_match):
        raise IfMatchMissing(
            "Read it first, and send its ETag back in the header If-Match (* overwrites whatever is there).",
            reason="if_match_missing",
        )


def expected_version(record: Any, schema: Schema) -> int | None:
    """Return the version that an edit may change (None: any); raise Stale (412) if it was meant for another state."""
    if request.if_match.star_tag:
        return None
    if not request.if_match.is_strong(compute_etag(render_json(schema, record), record)):
        raise Stale("This was changed since you read it: read it again, then repeat your edit.")
    version: int | None = getattr(record, "version", None)
    return version
