"""/api/openapi.json, and /api/, where people read it."""

from __future__ import annotations

import json
import re
from functools import cache

from flask import Blueprint, Response, render_template
from markupsafe import Markup, escape

from inventory.api import docs_reader
from inventory.api.document import INTRODUCTION, openapi_document
from inventory.api.etags import compute_etag, set_etag
from inventory.web.access import browser_page
from inventory.web.errors import ERROR_EXPLANATIONS

blueprint = Blueprint("api", __name__, url_prefix="/api", template_folder="templates", static_folder="static")


@blueprint.get("/openapi.json")
def openapi() -> Response:
    """Answer with the OpenAPI document."""
    text = _document_json()
    return set_etag(Response(text, content_type="application/json"), compute_etag(text, None))


@blueprint.get("/")
@browser_page
def docs_page() -> str:
    """Show the API to people."""
    document = openapi_document()
    return render_template(
        "api.html",
        groups=docs_reader.operation_groups(document),
        schemas=docs_reader.response_schemas(document),
        errors=ERROR_EXPLANATIONS,
        introduction=_introduction_markup(INTRODUCTION),
    )


@cache
def _document_json() -> str:
    return json.dumps(openapi_document(), ensure_ascii=False, indent=1)


def _introduction_markup(text: str) -> Markup:
    """Show the few marks that the introduction uses: paragraphs, "- " lists, **bold** and `code`."""
    blocks = []
    for block in text.split("\n\n"):
        if block.startswith("- "):
            items = [_inline_markup(item) for item in re.split(r"\n- ", block[2:])]
            blocks.append("<ul>" + "".join(f"<li>{item}</li>" for item in items) + "</ul>")
        else:
            blocks.append(f"<p>{_inline_markup(block)}</p>")
    return Markup("".join(blocks))


def _inline_markup(text: str) -> str:
    html = re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(" ".join(text.split()))))
    return re.sub(r"\*\*([^*]+)\*\*", r"<b>\1</b>", html)
