"""/bins|lots|pieces|jobs/.../label.png and .svg, /labels/sheet.pdf: labels to print, every symbol read back first."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any

from flask import Response, current_app

from inventory.api import fields
from inventory.api.documented import may_answer
from inventory.api.resource import Resource
from inventory.api.schema import Query
from inventory.api.tags import marked
from inventory.stock import labelling
from inventory.stock.refusals import Invalid
from inventory.stock.scan import scan
from labels import draw
from labels.errors import LabelError
from labels.media import MEDIA, Media, find_media

resource = Resource("labels", "Labels to print: one as a picture, or many on a sheet.")
KNOWN = ", ".join(MEDIA)
WHAT = {"bins": "bin", "lots": "lot", "pieces": "piece", "jobs": "job"}


class LabelQuery(Query):
    """On what a label is printed."""

    media = fields.Text(f"A sheet or roll ({KNOWN}), or a roll of own size such as 62x29.", most=40, default="a4-3x8")
    dpi = fields.Asked("Dots an inch of the printer.", least=150, most=1200, default=300)


class SheetQuery(LabelQuery):
    """Which labels go on a sheet, and from where."""

    codes = fields.Text(
        "Codes of bins, lots, pieces and jobs, with commas between.", least=1, most=20_000, required=True
    )
    start = fields.Asked("The first place to use on a half-used sheet.", least=1, most=1000, default=1)


def _media(asked: dict[str, Any]) -> tuple[Media, int]:
    return find_media(asked.get("media", "a4-3x8")), asked.get("dpi", 300)


def _address() -> str:
    return str(current_app.config["BENCH"].label_url)


def _drawn(draws: Callable[[], bytes | str], kind: str) -> Response:
    """Draw, and answer with it; say as a refusal of ours why it cannot be drawn."""
    try:
        made = draws()
    except LabelError as bad:
        raise Invalid(str(bad), reason="label") from None
    body = made.encode() if isinstance(made, str) else made
    return marked(Response(body, content_type=kind), hashlib.sha256(body).hexdigest()[:16])


def _put(plural: str, ending: str, kind: str, one_label: Callable[..., bytes | str]) -> None:
    """Put the address of one kind of label in one format."""

    def label(asked: dict[str, Any], key: int) -> Response:
        face = labelling.face_of(WHAT[plural], key, _address())
        return _drawn(lambda: one_label(face, *_media(asked)), kind)

    label.__name__ = f"{WHAT[plural]}_label_{ending}"
    label.__doc__ = f"Draw the label of a {WHAT[plural]} as {ending.upper()}."
    described = resource.arguments(LabelQuery(), location="query")(resource.response(200, content=kind)(label))
    resource.get(f"/{plural}/<key:key>/label.{ending}")(described)


for _plural in WHAT:
    _put(_plural, "png", "image/png", draw.draw_png)
    _put(_plural, "svg", "image/svg+xml", draw.draw_svg)


@resource.get("/labels/sheet.pdf")
@may_answer(404)
@resource.arguments(SheetQuery(), location="query")
@resource.response(200, content="application/pdf")
def label_sheet(asked: dict[str, Any]) -> Response:
    """Draw a sheet of labels as PDF, in the order asked for."""
    found = [scan(code) for code in asked["codes"].split(",") if code.strip()]
    faces = [one.face for one in labelling.labelled([(one.what, one.id) for one in found], _address())]

    def sheet() -> bytes:
        media, dpi = _media(asked)
        return draw.draw_pdf(faces, media, asked.get("start", 1), dpi)

    return _drawn(sheet, "application/pdf")
