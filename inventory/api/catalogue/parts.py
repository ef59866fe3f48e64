"""/parts: what can be stocked."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.part_schemas import (
    PartEdit,
    PartIn,
    PartOut,
    PartsQuery,
    PartStockOut,
    SubstituteIn,
    SubstituteOut,
    UnitModelOut,
)
from inventory.api.movements.fit_schemas import SubstituteOptionsOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.catalogue import parts as domain
from inventory.domain.catalogue import stock_totals
from inventory.domain.common.records import PartRecord, ResultPage, StockTotals, SubstituteRecord, UnitModelRecord
from inventory.domain.movements import suggested_substitutes
from inventory.domain.movements.substitute_records import SubstituteSuggestions

resource = Resource("parts", "Kinds of thing that can be stocked.")
PART = PartOut()


@resource.get("/parts")
@resource.arguments(PartsQuery(), location="query")
@resource.listed(PART)
def parts(params: dict[str, Any]) -> ResultPage:
    """List parts by number."""
    return domain.parts(**params)


@resource.post("/parts")
@resource.arguments(PartIn())
@resource.response(201, PART)
def add_part(data: dict[str, Any]) -> Any:
    """Add a part."""
    part = domain.add_part(**data)
    return part, location_header("part", part.id)


@resource.get("/parts/<key:part_id>")
@resource.response(200, PART)
def part(part_id: int) -> PartRecord:
    """Read a part."""
    return domain.part(part_id)


@resource.patch("/parts/<key:part_id>")
@resource.arguments(PartEdit())
@resource.edited(PART, domain.part)
def edit_part(data: dict[str, Any], part_id: int, version: int | None) -> PartRecord:
    """Change a part.

    Its unit and its way of being kept stay once it has movements (409).
    """
    return domain.edit_part(part_id, version, **data)


@resource.get("/parts/<key:part_id>/stock")
@resource.response(200, PartStockOut())
def part_stock(part_id: int) -> StockTotals:
    """Say how much there is of a part."""
    return stock_totals.stock_of(domain.part(part_id).id)


@resource.get("/parts/<key:part_id>/fits")
@resource.arguments(PageQuery(), location="query")
@resource.listed(UnitModelOut(), key="id", parent=domain.part)
def part_unit_models(params: dict[str, Any], part_id: int) -> list[UnitModelRecord]:
    """List the unit models that a part goes into."""
    return domain.unit_models_of_part(part_id)


@resource.get("/parts/<key:part_id>/substitutes")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SubstituteOut(), key="part.id", parent=domain.part)
def declared_substitutes(params: dict[str, Any], part_id: int) -> list[SubstituteRecord]:
    """List what may be used instead of a part."""
    return domain.substitutes_of(part_id)


@resource.get("/parts/<key:part_id>/substitute-options")
@resource.response(200, SubstituteOptionsOut())
def substitute_options(part_id: int) -> SubstituteSuggestions:
    """Read what fits in place of a part: declared, or by its attributes; how it differs, and where there is some.

    Take one by POST /api/v1/pulls with instead_of.
    """
    return suggested_substitutes.suggest_substitutes(part_id)


@resource.put("/parts/<key:part_id>/substitutes/<key:instead_id>")
@resource.arguments(SubstituteIn())
@resource.response(204)
def set_substitute(data: dict[str, Any], part_id: int, instead_id: int) -> None:
    """Note that one part may be used instead of another, and how it differs."""
    domain.set_substitute(part_id, instead_id, **data)


@resource.delete("/parts/<key:part_id>/substitutes/<key:instead_id>")
@resource.response(204)
def remove_substitute(part_id: int, instead_id: int) -> None:
    """Note that one part may not be used instead of another after all."""
    domain.drop_substitute(part_id, instead_id)
