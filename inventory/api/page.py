"""/api/openapi.json, and /api/, where people read it."""

from __future__ import annotations

import json
from functools import cache

from flask import Blueprint, Response

from inventory.api.document import document
from inventory.api.tags import marked, tag_of

blueprint = Blueprint("api", __name__, url_prefix="/api")


@blueprint.get("/openapi.json")
def openapi() -> Response:
    """Answer with the OpenAPI document."""
    text = _text()
    return marked(Response(text, content_type="application/json"), tag_of(text, None))


@cache
def _text() -> str:
    return json.dumps(document(), ensure_ascii=False, indent=1)
