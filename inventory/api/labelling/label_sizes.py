"""/label-sizes, /print-offsets: sheets and rolls of the shop's own, and how far off its printers print."""

from __future__ import annotations

from typing import Any

from inventory.api.labelling.label_schemas import (
    LabelSizeEdit,
    LabelSizeIn,
    LabelSizeOut,
    LabelSizesQuery,
    PrintOffsetIn,
    PrintOffsetOut,
    PrintOffsetsQuery,
)
from inventory.api.resource import Resource, location_header
from inventory.domain.common.records import ResultPage
from inventory.domain.labelling import label_sizes as domain
from inventory.domain.labelling import print_offsets
from inventory.domain.labelling.label_sizes import LabelSizeRecord
from inventory.domain.labelling.print_offsets import PrintOffsetRecord
from inventory.web.access import current_person, current_settings

resource = Resource("label sizes", "Sheets and rolls of the shop's own, and how far off its printers print.")
SIZE = LabelSizeOut()
OFFSET = PrintOffsetOut()


@resource.get("/label-sizes")
@resource.arguments(LabelSizesQuery(), location="query")
@resource.listed(SIZE)
def label_sizes(params: dict[str, Any]) -> ResultPage:
    """List the shop's own sheets and rolls by name."""
    return domain.list_label_sizes(**params)


@resource.post("/label-sizes")
@resource.arguments(LabelSizeIn())
@resource.response(201, SIZE)
def add_label_size(data: dict[str, Any]) -> Any:
    """Keep a sheet or roll. Its labels must lie on the page, and carry the smallest symbol."""
    size = domain.add_label_size(current_settings().label_url, **data)
    return size, location_header("label size", size.id)


@resource.get("/label-sizes/<key:size_id>")
@resource.response(200, SIZE)
def label_size(size_id: int) -> LabelSizeRecord:
    """Read one sheet or roll of the shop's own."""
    return domain.get_label_size(size_id)


@resource.patch("/label-sizes/<key:size_id>")
@resource.arguments(LabelSizeEdit())
@resource.edited(SIZE, domain.get_label_size)
def edit_label_size(data: dict[str, Any], size_id: int, version: int | None) -> LabelSizeRecord:
    """Change a sheet or roll of the shop's own."""
    return domain.edit_label_size(size_id, current_settings().label_url, version, **data)


@resource.get("/print-offsets")
@resource.arguments(PrintOffsetsQuery(), location="query")
@resource.listed(OFFSET)
def print_offset_list(params: dict[str, Any]) -> ResultPage:
    """List how far print is moved, in the order in which that was first kept."""
    return print_offsets.offsets(**params)


@resource.post("/print-offsets")
@resource.arguments(PrintOffsetIn())
@resource.response(201, OFFSET, with_etag=False)
def set_print_offset(data: dict[str, Any]) -> Any:
    """Keep how far print is to be moved; it replaces what was kept of the same size and printer."""
    offset = print_offsets.save_offset(**{"size": "", **data}, by=current_person().id)
    return offset, location_header("print offset", offset.id)


@resource.get("/print-offsets/<key:offset_id>")
@resource.response(200, OFFSET)
def print_offset(offset_id: int) -> PrintOffsetRecord:
    """Read how far print is moved."""
    return print_offsets.offset(offset_id)


@resource.delete("/print-offsets/<key:offset_id>")
@resource.response(204)
def delete_print_offset(offset_id: int) -> None:
    """Forget it: print is not moved for it any more."""
    print_offsets.delete_offset(offset_id)
