"""/unit-models: models of device that customers bring."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.part_schemas import UnitModelIn, UnitModelOut, UnitModelsQuery
from inventory.api.movements.fit_schemas import ModelPartOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.catalogue import parts as domain
from inventory.domain.catalogue.unit_model_parts import ModelPart, parts_of_model
from inventory.domain.common.records import UnitModelRecord

resource = Resource("unit models", "Models of device that customers bring.")
UNIT_MODEL = UnitModelOut()


@resource.get("/unit-models")
@resource.arguments(UnitModelsQuery(), location="query")
@resource.listed(UNIT_MODEL, key="id")
def unit_models(params: dict[str, Any]) -> list[UnitModelRecord]:
    """List unit models by name."""
    return domain.unit_models(**params)


@resource.post("/unit-models")
@resource.arguments(UnitModelIn())
@resource.response(201, UNIT_MODEL)
def add_unit_model(data: dict[str, Any]) -> Any:
    """Make a unit model known; one that is known already is answered as it is."""
    model = domain.get_or_create_unit_model(**data)
    return model, location_header("unit model", model.id)


@resource.get("/unit-models/<key:unit_model_id>")
@resource.response(200, UNIT_MODEL)
def unit_model(unit_model_id: int) -> UnitModelRecord:
    """Read a unit model."""
    return domain.unit_model(unit_model_id)


@resource.get("/unit-models/<key:unit_model_id>/parts")
@resource.arguments(PageQuery(), location="query")
@resource.listed(ModelPartOut(), key="part.id", parent=domain.unit_model)
def unit_model_parts(params: dict[str, Any], unit_model_id: int) -> list[ModelPart]:
    """List the parts that go into a unit model, noted or used by its jobs; what most jobs used comes first."""
    return parts_of_model(unit_model_id)
