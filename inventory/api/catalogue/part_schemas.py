"""Parts, the unit models they go into, what may stand in for them, and lessons."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import body_schema, edit_schema, response_schema
from inventory.api.schema import ResponseSchema
from inventory.domain.common.records import LessonRecord, PartRecord, StockTotals, SubstituteRecord, UnitModelRecord
from inventory.domain.common.validation import PART_KINDS


def _fits_field() -> fields.List:
    return fields.List(
        fields.Text("A unit model.", minimum=1, maximum=120),
        "Names of the unit models it goes into; new ones are added.",
        maximum=200,
    )


UnitModelOut = response_schema(UnitModelRecord)
UnitModelIn = body_schema(UnitModelRecord)


class UnitModelsQuery(PageQuery):
    """Which unit models to list."""

    find = fields.Text("Words that the name holds.", maximum=200)


PartOut = response_schema(PartRecord)
PartIn = body_schema(
    PartRecord, fits=_fits_field(), catalogued_for=fields.Id("The job that caused it.", nullable=True)
)
PartEdit = edit_schema(PartRecord, fits=_fits_field())


class PartsQuery(PageQuery):
    """Which parts to list."""

    find = fields.Text("Words that number, name, maker, attributes or note hold.", maximum=200)
    kind = fields.Text("Of this kind.", choices=PART_KINDS)
    fits = fields.QueryId("That go into this unit model.")
    retired = fields.QueryBoolean("Those no longer stocked instead.", default=False)


PartStockOut = response_schema(StockTotals, "position", name="PartStockOut")
SubstituteOut = response_schema(SubstituteRecord)
SubstituteIn = body_schema(SubstituteRecord)
LessonOut = response_schema(LessonRecord)
LessonIn = body_schema(LessonRecord)


class AttributeOut(ResponseSchema):
    """A trade attribute of a kind."""

    key = fields.Text("Its key.")
    label = fields.Text("What people call it.")
    unit = fields.Text("Its unit.")
    words = fields.List(ma.String(), "The words it may take; none: a number or free text.")
    free = fields.Boolean("Any short text.")


class KindOut(ResponseSchema):
    """A kind of part and its trade attributes."""

    kind = fields.Text("The kind.")
    attributes = fields.Nested(AttributeOut, "What parts of this kind are told apart by.", many=True)


class HazardOut(ResponseSchema):
    """A hazard that parts may have."""

    key = fields.Text("Its key.")
    title = fields.Text("What people call it.")
    line = fields.Text("The line that fits a label.")
    caution = fields.Text("The caution in full sentences.")
