"""/api/openapi.json, and /api/, where people read it."""

from __future__ import annotations

import json
import re
from functools import cache

from flask import Blueprint, Response, render_template
from markupsafe import Markup, escape

from inventory.api import docs_reader
from inventory.api.document import INTRODUCTION, document
from inventory.api.etags import marked, tag_of
from inventory.web.access import read_by_people

blueprint = Blueprint("api", __name__, url_prefix="/api", template_folder="templates", static_folder="static")


@blueprint.get("/openapi.json")
def openapi() -> Response:
    """Answer with the OpenAPI document."""
    text = _text()
    return marked(Response(text, content_type="application/json"), tag_of(text, None))


@blueprint.get("/")
@read_by_people
def read() -> str:
    """Show the API to people."""
    made = document()
    return render_template(
        "api.html",
        groups=docs_reader.groups(made),
        schemas=docs_reader.schemas(made),
        introduction=_paragraphs(INTRODUCTION),
    )


@cache
def _text() -> str:
    return json.dumps(document(), ensure_ascii=False, indent=1)


def _paragraphs(text: str) -> Markup:
    """Show the few marks that the introduction uses: paragraphs, "- " lists, **bold** and `code`."""
    made = []
    for block in text.split("\n\n"):
        if block.startswith("- "):
            items = [_marks(item) for item in re.split(r"\n- ", block[2:])]
            made.append("<ul>" + "".join(f"<li>{item}</li>" for item in items) + "</ul>")
        else:
            made.append(f"<p>{_marks(block)}</p>")
    return Markup("".join(made))


def _marks(text: str) -> str:
    shown = re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(" ".join(text.split()))))
    return re.sub(r"\*\*([^*]+)\*\*", r"<b>\1</b>", shown)
