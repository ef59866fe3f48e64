"""/unit-models: models of device that customers bring."""

from __future__ import annotations

from typing import Any

from inventory.api.resource import Resource, at
from inventory.api.schemas_parts import UnitModelIn, UnitModelOut, UnitModelsQuery
from inventory.stock import parts as stock
from inventory.stock.records import UnitModelRecord

resource = Resource("unit models", "Models of device that customers bring.")
UNIT_MODEL = UnitModelOut()


@resource.get("/unit-models")
@resource.arguments(UnitModelsQuery(), location="query")
@resource.listed(UNIT_MODEL, key=lambda one: one.id)
def unit_models(asked: dict[str, Any]) -> list[UnitModelRecord]:
    """List unit models by name."""
    return stock.unit_models(**asked)


@resource.post("/unit-models")
@resource.arguments(UnitModelIn())
@resource.response(201, UNIT_MODEL)
def add_unit_model(given: dict[str, Any]) -> Any:
    """Make a unit model known; one that is known already is answered as it is."""
    made = stock.unit_model_named(**given)
    return made, at("unit-models", made.id)


@resource.get("/unit-models/<key:unit_model_id>")
@resource.response(200, UNIT_MODEL)
def unit_model(unit_model_id: int) -> UnitModelRecord:
    """Read a unit model."""
    return stock.unit_model(unit_model_id)
