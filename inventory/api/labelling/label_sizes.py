"""/label-sizes, /print-offsets: sheets and rolls of the shop's own, and how far off its printers print."""

from __future__ import annotations

from typing import Any

from flask import current_app

from inventory.api.labelling.label_schemas import (
    OffsetIn,
    OffsetOut,
    OffsetsQuery,
    SizeEdit,
    SizeIn,
    SizeOut,
    SizesQuery,
)
from inventory.api.resource import Resource, at
from inventory.domain.common.records import Page
from inventory.domain.labelling import label_sizes as stock
from inventory.domain.labelling import print_offsets
from inventory.domain.labelling.label_sizes import LabelSizeRecord
from inventory.domain.labelling.print_offsets import OffsetRecord
from inventory.web.access import caller

resource = Resource("label sizes", "Sheets and rolls of the shop's own, and how far off its printers print.")
SIZE = SizeOut()
OFFSET = OffsetOut()


def _address() -> str:
    return str(current_app.config["BENCH"].label_url)


@resource.get("/label-sizes")
@resource.arguments(SizesQuery(), location="query")
@resource.listed(SIZE)
def label_sizes(asked: dict[str, Any]) -> Page:
    """List the shop's own sheets and rolls by name."""
    return stock.sizes(**asked)


@resource.post("/label-sizes")
@resource.arguments(SizeIn())
@resource.response(201, SIZE)
def add_label_size(given: dict[str, Any]) -> Any:
    """Keep a sheet or roll. Its labels must lie on the page, and carry the smallest symbol."""
    made = stock.add_size(_address(), **given)
    return made, at("label size", made.id)


@resource.get("/label-sizes/<key:size_id>")
@resource.response(200, SIZE)
def label_size(size_id: int) -> LabelSizeRecord:
    """Read one sheet or roll of the shop's own."""
    return stock.size(size_id)


@resource.patch("/label-sizes/<key:size_id>")
@resource.arguments(SizeEdit())
@resource.edited(SIZE, stock.size)
def edit_label_size(given: dict[str, Any], size_id: int, version: int | None) -> LabelSizeRecord:
    """Change a sheet or roll of the shop's own."""
    return stock.edit_size(size_id, _address(), version, **given)


@resource.get("/print-offsets")
@resource.arguments(OffsetsQuery(), location="query")
@resource.listed(OFFSET)
def print_offset_list(asked: dict[str, Any]) -> Page:
    """List how far print is moved, in the order in which that was first kept."""
    return print_offsets.offsets(**asked)


@resource.post("/print-offsets")
@resource.arguments(OffsetIn())
@resource.response(201, OFFSET, entity=False)
def keep_print_offset(given: dict[str, Any]) -> Any:
    """Keep how far print is to be moved; it replaces what was kept of the same size and printer."""
    made = print_offsets.keep_offset(**{"size": "", **given}, by=caller().id)
    return made, at("print offset", made.id)


@resource.get("/print-offsets/<key:offset_id>")
@resource.response(200, OFFSET)
def print_offset(offset_id: int) -> OffsetRecord:
    """Read how far print is moved."""
    return print_offsets.offset(offset_id)


@resource.delete("/print-offsets/<key:offset_id>")
@resource.response(204)
def forget_print_offset(offset_id: int) -> None:
    """Forget it: print is not moved for it any more."""
    print_offsets.forget_offset(offset_id)
