"""/parts: what can be stocked."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.part_schemas import (
    PartEdit,
    PartIn,
    PartOut,
    PartsQuery,
    StockOut,
    SubstituteIn,
    SubstituteOut,
    UnitModelOut,
)
from inventory.api.movements.fit_schemas import InsteadOfOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.domain.catalogue import parts as stock
from inventory.domain.catalogue import stock_totals
from inventory.domain.common.records import Page, PartRecord, Stock, SubstituteRecord, UnitModelRecord
from inventory.domain.movements import suggested_substitutes
from inventory.domain.movements.substitute_records import InsteadOf

resource = Resource("parts", "Kinds of thing that can be stocked.")
PART = PartOut()


@resource.get("/parts")
@resource.arguments(PartsQuery(), location="query")
@resource.listed(PART)
def parts(asked: dict[str, Any]) -> Page:
    """List parts by number."""
    return stock.parts(**asked)


@resource.post("/parts")
@resource.arguments(PartIn())
@resource.response(201, PART)
def add_part(given: dict[str, Any]) -> Any:
    """Add a part."""
    made = stock.add_part(**given)
    return made, at("part", made.id)


@resource.get("/parts/<key:part_id>")
@resource.response(200, PART)
def part(part_id: int) -> PartRecord:
    """Read a part."""
    return stock.part(part_id)


@resource.patch("/parts/<key:part_id>")
@resource.arguments(PartEdit())
@resource.edited(PART, stock.part)
def edit_part(given: dict[str, Any], part_id: int, version: int | None) -> PartRecord:
    """Change a part.

    Its unit and its way of being kept stay once it has movements (409).
    """
    return stock.edit_part(part_id, version, **given)


@resource.get("/parts/<key:part_id>/stock")
@resource.response(200, StockOut())
def part_stock(part_id: int) -> Stock:
    """Say how much there is of a part."""
    return stock_totals.stock_of(stock.part(part_id).id)


@resource.get("/parts/<key:part_id>/fits")
@resource.arguments(PageQuery(), location="query")
@resource.listed(UnitModelOut(), key=lambda one: one.id, of=stock.part)
def part_fits(asked: dict[str, Any], part_id: int) -> list[UnitModelRecord]:
    """List the unit models that a part goes into."""
    return stock.fits_of(part_id)


@resource.get("/parts/<key:part_id>/substitutes")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SubstituteOut(), key=lambda one: one.part.id, of=stock.part)
def substitutes(asked: dict[str, Any], part_id: int) -> list[SubstituteRecord]:
    """List what may be used instead of a part."""
    return stock.substitutes_of(part_id)


@resource.get("/parts/<key:part_id>/instead")
@resource.response(200, InsteadOfOut())
def part_instead(part_id: int) -> InsteadOf:
    """Read what fits in place of a part: declared, or by its attributes; how it differs, and where there is some.

    Take one by POST /api/v1/pulls with instead_of.
    """
    return suggested_substitutes.instead_of(part_id)


@resource.put("/parts/<key:part_id>/substitutes/<key:instead_id>")
@resource.arguments(SubstituteIn())
@resource.response(204)
def set_substitute(given: dict[str, Any], part_id: int, instead_id: int) -> None:
    """Note that one part may be used instead of another, and how it differs."""
    stock.set_substitute(part_id, instead_id, **given)


@resource.delete("/parts/<key:part_id>/substitutes/<key:instead_id>")
@resource.response(204)
def drop_substitute(part_id: int, instead_id: int) -> None:
    """Note that one part may not be used instead of another after all."""
    stock.drop_substitute(part_id, instead_id)
