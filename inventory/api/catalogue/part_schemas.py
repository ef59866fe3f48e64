"""Parts, the unit models they go into, what may stand in for them, and lessons."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, EditSchema, ResponseSchema
from inventory.domain.catalogue.parts import TEXT_LIMITS
from inventory.domain.common.validation import KEPT_MODES, PART_KINDS, PROMISES
from shared.hazards import HAZARDS
from shared.quantities import UNIT_FACTORS

_PROMISE_HELP = (
    "What its stock promises: nothing runs dry before the next delivery, or the next job finds all it wants; "
    "null: what the shop promises."
)


class UnitModelOut(ResponseSchema):
    """A model of device that customers bring."""

    id = fields.Id("Its id.")
    name = fields.Text("What it is called.", example="Corvid 7 moving head")
    maker = fields.Text("Who makes it.")
    note = fields.Text("What to know about it.")


class UnitModelIn(BodySchema):
    """A unit model to be known."""

    name = fields.Text("What it is called.", minimum=1, maximum=120, required=True, example="Corvid 7 moving head")


class UnitModelsQuery(PageQuery):
    """Which unit models to list."""

    find = fields.Text("Words that the name holds.", maximum=200)


class PartFields(BodySchema):
    """What is noted of a part."""

    number = fields.Text(
        "The shop's own number.", minimum=1, maximum=TEXT_LIMITS["number"], required=True, example="CN-0412"
    )
    name = fields.Text(
        "What it is called.",
        minimum=1,
        maximum=TEXT_LIMITS["name"],
        required=True,
        example="4-way 2.0 mm wire-to-board header",
    )
    kind = fields.Text("Its kind.", choices=PART_KINDS, required=True)
    kept = fields.Text(
        "How it is kept: counted in bins, each piece with its own label, or by a level read now and then.",
        choices=KEPT_MODES, default="counted",
    )  # fmt: skip
    unit = fields.Text("Its base unit.", choices=tuple(UNIT_FACTORS), default="piece")
    maker = fields.Text("Who makes it.", maximum=TEXT_LIMITS["maker"], default="")
    maker_number = fields.Text("The maker's number.", maximum=TEXT_LIMITS["maker_number"], default="")
    attributes = fields.Attributes(
        "Trade attributes of its kind; GET /api/v1/kinds says which.",
        example={"pitch_mm": 2.0, "ways": 4, "gender": "header"},
    )  # fmt: skip
    hazards = fields.List(
        ma.String(),
        f"What to mind, of: {', '.join(HAZARDS)}. Left out when adding: what the kind implies.",
        maximum=20,
    )
    caution = fields.Text("A caution of its own, shown first.", maximum=TEXT_LIMITS["caution"], default="")
    note = fields.Text("What else to know.", maximum=TEXT_LIMITS["note"], default="")
    level = fields.Integer("How many the owner wants kept; null: worked out.", nullable=True)
    target = fields.BoundedNumber(
        "How often its promise is to hold; null: the shop's.", minimum=0.5, maximum=0.999, nullable=True
    )
    promise = fields.Text(_PROMISE_HELP, choices=PROMISES, nullable=True)
    rated_matings = fields.Integer(
        "How often its connector may be mated, by the data sheet.", minimum=1, nullable=True
    )
    fits = fields.List(
        fields.Text("A unit model.", minimum=1, maximum=120),
        "Names of the unit models it goes into; new ones are added.", maximum=200,
    )  # fmt: skip


class PartIn(PartFields):
    """A part to be added."""

    catalogued_for = fields.Id("The job that caused it.", nullable=True)


class PartEdit(EditSchema, PartFields):
    """What to change of a part."""

    retired = fields.Boolean("No longer stocked.")


class PartOut(ResponseSchema):
    """A kind of thing that can be stocked."""

    id = fields.Id("Its id.")
    number = fields.Text("The shop's own number.", example="CN-0412")
    name = fields.Text("What it is called.")
    kind = fields.Text("Its kind.", choices=PART_KINDS)
    kept = fields.Text("How it is kept.", choices=KEPT_MODES)
    unit = fields.Text("Its base unit, in which every quantity of it is.", choices=tuple(UNIT_FACTORS))
    maker = fields.Text("Who makes it.")
    maker_number = fields.Text("The maker's number.")
    attributes = fields.Attributes("Trade attributes of its kind.")
    hazards = fields.List(ma.String(), "What to mind, by key: see GET /api/v1/hazards.")
    caution = fields.Text("A caution of its own.")
    note = fields.Text("What else to know.")
    level = fields.Integer("How many the owner wants kept; null: worked out.", nullable=True)
    target = fields.BoundedNumber("How often its promise is to hold; null: the shop's.", nullable=True)
    promise = fields.Text(_PROMISE_HELP, choices=PROMISES, nullable=True)
    rated_matings = fields.Integer("How often its connector may be mated.", nullable=True)
    catalogued = fields.DateTime("When it was added.")
    catalogued_for_id = fields.Id("The job that caused it.", nullable=True)
    retired = fields.Boolean("No longer stocked.")
    version = fields.Integer("Counts its edits.")


class PartsQuery(PageQuery):
    """Which parts to list."""

    find = fields.Text("Words that number, name, maker, attributes or note hold.", maximum=200)
    kind = fields.Text("Of this kind.", choices=PART_KINDS)
    fits = fields.QueryId("That go into this unit model.")
    retired = fields.QueryBoolean("Those no longer stocked instead.", default=False)


class PartStockOut(ResponseSchema):
    """How much there is of a part, in base units."""

    on_shelf = fields.Integer("Loose and not on hold, plus pieces that are there to be fitted.")
    on_hold = fields.Integer("In lots that nobody may pull from.")
    spares = fields.Integer("Pieces kept to test with.")
    out = fields.Integer("Pieces lent to jobs now.")
    promised = fields.Integer("To open jobs, not yet taken.")
    on_order = fields.Integer("Asked of suppliers and not yet here.")
    position = fields.Integer("On the shelf, plus on order, less promised.", minimum=None)


class SubstituteOut(ResponseSchema):
    """What may be used instead of a part."""

    part = fields.Nested(PartOut, "The part that may be used instead.")
    differs = fields.Text("How it differs.")
    on_shelf = fields.Integer("How many of it are on the shelf.")


class SubstituteIn(BodySchema):
    """How a substitute differs."""

    differs = fields.Text("How it differs.", maximum=300, default="", example="wires are 20 mm longer")


class LessonOut(ResponseSchema):
    """A sentence worth seeing again."""

    id = fields.Id("Its id.")
    text = fields.Text("The sentence.")
    part_id = fields.Id("The part it is about.", nullable=True)
    unit_model_id = fields.Id("The unit model it is about.", nullable=True)
    job_id = fields.Id("The job that taught it.", nullable=True)
    at = fields.DateTime("When it was noted.")
    person = fields.Text("Who noted it.")


class LessonIn(BodySchema):
    """A sentence to be kept, about a part, a unit model, or both."""

    text = fields.Text("The sentence.", minimum=1, maximum=1000, required=True)
    part_id = fields.Id("The part it is about.", nullable=True)
    unit_model_id = fields.Id("The unit model it is about.", nullable=True)
    job_id = fields.Id("The job that taught it.", nullable=True)


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
