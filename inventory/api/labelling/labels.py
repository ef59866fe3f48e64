"""/bins|lots|pieces|jobs/.../label.png and .svg, /labels: labels to print, every symbol read back first."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any

from flask import Response, current_app

from inventory.api.etags import marked
from inventory.api.labelling.label_schemas import LabelQuery, PrintedOut, PrinterOut, PrintIn, SheetQuery
from inventory.api.operation_docs import may_answer
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.code_lookup import scan
from inventory.domain.labelling import print_queue
from inventory.domain.labelling.label_sheet import LabelSheet, label_sheet
from inventory.domain.labelling.print_queue import Printed

resource = Resource("labels", "Labels to print: one as a picture, or many on a sheet.")
WHAT = {"bins": "bin", "lots": "lot", "pieces": "piece", "jobs": "job"}
_ONE = [(f"/{plural}/<key:key>/label", what, f"the label of a {what}") for plural, what in WHAT.items()]
_ONE.append(
    ("/bins/<key:key>/shelf-end", "shelf", "the label for the end of a bin's shelf, or the front of its drawer")
)


def _address() -> str:
    return str(current_app.config["BENCH"].label_url)


def _printers() -> str:
    return str(current_app.config["BENCH"].printers)


def _sheet(codes: Iterable[str], asked: dict[str, Any], *, shelf_ends: bool = False, printer: str = "") -> LabelSheet:
    found = [scan(code) for code in codes]
    things = [("shelf" if shelf_ends and one.what == "bin" else one.what, one.id) for one in found]
    return label_sheet(things, _address(), printer=printer, **asked)


def _drawn(made: bytes | str, kind: str) -> Response:
    body = made.encode() if isinstance(made, str) else made
    return marked(Response(body, content_type=kind), hashlib.sha256(body).hexdigest()[:16])


def _put(address: str, what: str, called: str, ending: str, kind: str) -> None:
    """Put the address of one kind of label in one format."""

    def label(asked: dict[str, Any], key: int) -> Response:
        sheet = label_sheet([(what, key)], _address(), **asked)
        return _drawn(sheet.png(1) if ending == "png" else sheet.svg(1), kind)

    label.__name__ = f"{what}_label_{ending}"
    label.__doc__ = f"Draw {called} as {ending.upper()}."
    described = resource.arguments(LabelQuery(), location="query")(resource.response(200, content=kind)(label))
    resource.get(f"{address}.{ending}")(described)


for _each in _ONE:
    _put(*_each, "png", "image/png")
    _put(*_each, "svg", "image/svg+xml")


@resource.get("/labels/sheet.pdf")
@may_answer(404)
@resource.arguments(SheetQuery(), location="query")
@resource.response(200, content="application/pdf")
def label_pdf(asked: dict[str, Any]) -> Response:
    """Draw a sheet of labels as PDF, in the order asked for, moved by what is kept of the size."""
    codes = [code for code in asked.pop("codes").split(",") if code.strip()]
    as_dots = asked.pop("dots", False)
    return _drawn(
        _sheet(codes, asked, shelf_ends=asked.pop("shelf_ends", False)).pdf(as_dots=as_dots), "application/pdf"
    )


@resource.get("/printers")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PrinterOut(), key=lambda one: one["name"])
def printers(asked: dict[str, Any]) -> list[dict[str, str]]:
    """List the CUPS queues that labels can be printed to; none where none is set up."""
    return [{"name": one} for one in sorted(print_queue.queues(_printers()))]


@resource.post("/labels/print")
@resource.arguments(PrintIn())
@resource.response(200, PrintedOut(), entity=False, outside=True)
def print_labels(given: dict[str, Any]) -> Printed:
    """Print labels on a CUPS queue, in the order asked for, moved by what is kept of the size and the queue."""
    codes, shelf_ends, printer = given.pop("codes"), given.pop("shelf_ends", False), given.pop("printer")
    return _sheet(codes, given, shelf_ends=shelf_ends, printer=printer).print_on(printer, _printers())
