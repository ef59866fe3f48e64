"""/bins: places with a label."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from inventory.api.catalogue.stock_schemas import BinEdit, BinIn, BinOut, BinsQuery, BlankBinsIn, BlankBinsOut
from inventory.api.resource import Resource, location_header
from inventory.domain.catalogue import bins as domain
from inventory.domain.common.records import BinRecord, ResultPage

resource = Resource("bins", "Places with a label.")
BIN = BinOut()


@resource.get("/bins")
@resource.arguments(BinsQuery(), location="query")
@resource.listed(BIN)
def bins(params: dict[str, Any]) -> ResultPage:
    """List bins in the order in which they were made."""
    return domain.bins(**params)


@resource.post("/bins")
@resource.arguments(BinIn())
@resource.response(201, BIN)
def add_bin(data: dict[str, Any]) -> Any:
    """Add a bin."""
    bin_ = domain.add_bin(**data)
    return bin_, location_header("bin", bin_.id)


@resource.post("/bins/blank")
@resource.arguments(BlankBinsIn())
@resource.response(201, BlankBinsOut(), with_etag=False)
def add_blank_bins(data: dict[str, Any]) -> Any:
    """Make bins without a name, for labels that are stuck on first and named when they are scanned."""
    return SimpleNamespace(items=domain.add_blank_bins(**data))


@resource.get("/bins/<key:bin_id>")
@resource.response(200, BIN)
def bin_(bin_id: int) -> BinRecord:
    """Read a bin."""
    return domain.get_bin(bin_id)


@resource.patch("/bins/<key:bin_id>")
@resource.arguments(BinEdit())
@resource.edited(BIN, domain.get_bin)
def edit_bin(data: dict[str, Any], bin_id: int, version: int | None) -> BinRecord:
    """Change a bin, or put a blank one to use by naming it."""
    return domain.edit_bin(bin_id, version, **data)
