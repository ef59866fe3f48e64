"""/bins: places with a label."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from inventory.api.catalogue.stock_schemas import BinEdit, BinIn, BinOut, BinsQuery, BlankBinsIn, BlankBinsOut
from inventory.api.resource import Resource, at
from inventory.domain.catalogue import bins as stock
from inventory.domain.common.records import BinRecord, Page

resource = Resource("bins", "Places with a label.")
BIN = BinOut()


@resource.get("/bins")
@resource.arguments(BinsQuery(), location="query")
@resource.listed(BIN)
def bins(asked: dict[str, Any]) -> Page:
    """List bins in the order in which they were made."""
    return stock.bins(**asked)


@resource.post("/bins")
@resource.arguments(BinIn())
@resource.response(201, BIN)
def add_bin(given: dict[str, Any]) -> Any:
    """Add a bin."""
    made = stock.add_bin(**given)
    return made, at("bin", made.id)


@resource.post("/bins/blank")
@resource.arguments(BlankBinsIn())
@resource.response(201, BlankBinsOut(), entity=False)
def add_blank_bins(given: dict[str, Any]) -> Any:
    """Make bins without a name, for labels that are stuck on first and named when they are scanned."""
    return SimpleNamespace(items=stock.add_blank_bins(**given))


@resource.get("/bins/<key:bin_id>")
@resource.response(200, BIN)
def bin_(bin_id: int) -> BinRecord:
    """Read a bin."""
    return stock.bin_(bin_id)


@resource.patch("/bins/<key:bin_id>")
@resource.arguments(BinEdit())
@resource.edited(BIN, stock.bin_)
def edit_bin(given: dict[str, Any], bin_id: int, version: int | None) -> BinRecord:
    """Change a bin, or put a blank one to use by naming it."""
    return stock.edit_bin(bin_id, version, **given)
