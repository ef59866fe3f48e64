"""/bins|lots|pieces|jobs/.../label.png and .svg, /labels: labels to print, every symbol read back first."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any

from flask import Response

from inventory.api.etags import set_etag
from inventory.api.labelling.label_schemas import (
    LabelQuery,
    LabelSheetQuery,
    LabelsPrintedOut,
    PrinterOut,
    PrintLabelsIn,
)
from inventory.api.operation_docs import extra_statuses
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.code_lookup import resolve_code
from inventory.domain.labelling import print_queue
from inventory.domain.labelling.label_sheet import LabelSheet, label_sheet
from inventory.domain.labelling.print_queue import PrintRequest
from inventory.web.access import current_settings

resource = Resource("labels", "Labels to print: one as a picture, or many on a sheet.")
KIND_BY_PATH = {"bins": "bin", "lots": "lot", "pieces": "piece", "jobs": "job"}
_LABEL_ROUTES = [
    (f"/{plural}/<key:key>/label", what, f"the label of a {what}") for plural, what in KIND_BY_PATH.items()
]
_LABEL_ROUTES.append(
    ("/bins/<key:key>/shelf-end", "shelf", "the label for the end of a bin's shelf, or the front of its drawer")
)


def _sheet(
    codes: Iterable[str], options: dict[str, Any], *, shelf_ends: bool = False, printer: str = ""
) -> LabelSheet:
    items = [resolve_code(code) for code in codes]
    things = [("shelf" if shelf_ends and item.what == "bin" else item.what, item.id) for item in items]
    return label_sheet(things, current_settings().label_url, printer=printer, **options)


def _image_response(image: bytes | str, kind: str) -> Response:
    body = image.encode() if isinstance(image, str) else image
    return set_etag(Response(body, content_type=kind), hashlib.sha256(body).hexdigest()[:16])


def _add_label_route(address: str, what: str, called: str, ending: str, kind: str) -> None:
    """Put the address of one kind of label in one format."""

    def label(options: dict[str, Any], key: int) -> Response:
        sheet = label_sheet([(what, key)], current_settings().label_url, **options)
        return _image_response(sheet.png(1) if ending == "png" else sheet.svg(1), kind)

    label.__name__ = f"{what}_label_{ending}"
    label.__doc__ = f"Draw {called} as {ending.upper()}."
    described = resource.arguments(LabelQuery(), location="query")(resource.response(200, content_type=kind)(label))
    resource.get(f"{address}.{ending}")(described)


for _each in _LABEL_ROUTES:
    _add_label_route(*_each, "png", "image/png")
    _add_label_route(*_each, "svg", "image/svg+xml")


@resource.get("/labels/sheet.pdf")
@extra_statuses(404)
@resource.arguments(LabelSheetQuery(), location="query")
@resource.response(200, content_type="application/pdf")
def label_pdf(params: dict[str, Any]) -> Response:
    """Draw a sheet of labels as PDF, in the order asked for, moved by what is kept of the size."""
    codes = [code for code in params.pop("codes").split(",") if code.strip()]
    as_dots = params.pop("dots", False)
    return _image_response(
        _sheet(codes, params, shelf_ends=params.pop("shelf_ends", False)).pdf(as_dots=as_dots), "application/pdf"
    )


@resource.get("/printers")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PrinterOut(), key=lambda queue: queue["name"])
def printers(params: dict[str, Any]) -> list[dict[str, str]]:
    """List the CUPS queues that labels can be printed to; none where none is set up."""
    return [{"name": queue} for queue in sorted(print_queue.queues(current_settings().printers))]


@resource.post("/labels/print")
@resource.arguments(PrintLabelsIn())
@resource.response(200, LabelsPrintedOut(), with_etag=False, external_effect=True)
def print_labels(data: dict[str, Any]) -> PrintRequest:
    """Print labels on a CUPS queue, in the order asked for, moved by what is kept of the size and the queue."""
    codes, shelf_ends, printer = data.pop("codes"), data.pop("shelf_ends", False), data.pop("printer")
    return _sheet(codes, data, shelf_ends=shelf_ends, printer=printer).print_on(printer, current_settings().printers)
