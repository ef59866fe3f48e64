"""Parts, the unit models they go into, what may stand in for them, and lessons."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Edit
from inventory.domain.catalogue.parts import TEXTS
from inventory.domain.common.validation import KEPT, KINDS, PROMISES
from shared.hazards import HAZARDS
from shared.quantities import UNITS

_PROMISE = (
    "What its stock promises: nothing runs dry before the next delivery, or the next job finds all it wants; "
    "null: what the shop promises."
)


class UnitModelOut(Answer):
    """A model of device that customers bring."""

    id = fields.Ident("Its id.")
    name = fields.Text("What it is called.", example="Corvid 7 moving head")
    maker = fields.Text("Who makes it.")
    note = fields.Text("What to know about it.")


class UnitModelIn(Body):
    """A unit model to be known."""

    name = fields.Text("What it is called.", least=1, most=120, required=True, example="Corvid 7 moving head")


class UnitModelsQuery(PageQuery):
    """Which unit models to list."""

    find = fields.Text("Words that the name holds.", most=200)


class PartFields(Body):
    """What is noted of a part."""

    number = fields.Text("The shop's own number.", least=1, most=TEXTS["number"], required=True, example="CN-0412")
    name = fields.Text(
        "What it is called.", least=1, most=TEXTS["name"], required=True, example="4-way 2.0 mm wire-to-board header"
    )
    kind = fields.Text("Its kind.", words=KINDS, required=True)
    kept = fields.Text(
        "How it is kept: counted in bins, each piece with its own label, or by a level read now and then.",
        words=KEPT, default="counted",
    )  # fmt: skip
    unit = fields.Text("Its base unit.", words=tuple(UNITS), default="piece")
    maker = fields.Text("Who makes it.", most=TEXTS["maker"], default="")
    maker_number = fields.Text("The maker's number.", most=TEXTS["maker_number"], default="")
    attributes = fields.Attributes(
        "Trade attributes of its kind; GET /api/v1/kinds says which.",
        example={"pitch_mm": 2.0, "ways": 4, "gender": "header"},
    )  # fmt: skip
    hazards = fields.Many(
        ma.String(), f"What to mind, of: {', '.join(HAZARDS)}. Left out when adding: what the kind implies.", most=20
    )
    caution = fields.Text("A caution of its own, shown first.", most=TEXTS["caution"], default="")
    note = fields.Text("What else to know.", most=TEXTS["note"], default="")
    level = fields.Whole("How many the owner wants kept; null: worked out.", nullable=True)
    target = fields.Share("How often its promise is to hold; null: the shop's.", least=0.5, most=0.999, nullable=True)
    promise = fields.Text(_PROMISE, words=PROMISES, nullable=True)
    rated_matings = fields.Whole("How often its connector may be mated, by the data sheet.", least=1, nullable=True)
    fits = fields.Many(
        fields.Text("A unit model.", least=1, most=120),
        "Names of the unit models it goes into; new ones are added.", most=200,
    )  # fmt: skip


class PartIn(PartFields):
    """A part to be added."""

    catalogued_for = fields.Ident("The job that caused it.", nullable=True)


class PartEdit(Edit, PartFields):
    """What to change of a part."""

    retired = fields.Flag("No longer stocked.")


class PartOut(Answer):
    """A kind of thing that can be stocked."""

    id = fields.Ident("Its id.")
    number = fields.Text("The shop's own number.", example="CN-0412")
    name = fields.Text("What it is called.")
    kind = fields.Text("Its kind.", words=KINDS)
    kept = fields.Text("How it is kept.", words=KEPT)
    unit = fields.Text("Its base unit, in which every quantity of it is.", words=tuple(UNITS))
    maker = fields.Text("Who makes it.")
    maker_number = fields.Text("The maker's number.")
    attributes = fields.Attributes("Trade attributes of its kind.")
    hazards = fields.Many(ma.String(), "What to mind, by key: see GET /api/v1/hazards.")
    caution = fields.Text("A caution of its own.")
    note = fields.Text("What else to know.")
    level = fields.Whole("How many the owner wants kept; null: worked out.", nullable=True)
    target = fields.Share("How often its promise is to hold; null: the shop's.", nullable=True)
    promise = fields.Text(_PROMISE, words=PROMISES, nullable=True)
    rated_matings = fields.Whole("How often its connector may be mated.", nullable=True)
    catalogued = fields.Moment("When it was added.")
    catalogued_for_id = fields.Ident("The job that caused it.", nullable=True)
    retired = fields.Flag("No longer stocked.")
    version = fields.Whole("Counts its edits.")


class PartsQuery(PageQuery):
    """Which parts to list."""

    find = fields.Text("Words that number, name, maker, attributes or note hold.", most=200)
    kind = fields.Text("Of this kind.", words=KINDS)
    fits = fields.AskedIdent("That go into this unit model.")
    retired = fields.AskedFlag("Those no longer stocked instead.", default=False)


class StockOut(Answer):
    """How much there is of a part, in base units."""

    on_shelf = fields.Whole("Loose and not on hold, plus pieces that are there to be fitted.")
    on_hold = fields.Whole("In lots that nobody may pull from.")
    spares = fields.Whole("Pieces kept to test with.")
    out = fields.Whole("Pieces lent to jobs now.")
    promised = fields.Whole("To open jobs, not yet taken.")
    on_order = fields.Whole("Asked of suppliers and not yet here.")
    position = fields.Whole("On the shelf, plus on order, less promised.", least=None)


class SubstituteOut(Answer):
    """What may be used instead of a part."""

    part = fields.Inner(PartOut, "The part that may be used instead.")
    differs = fields.Text("How it differs.")
    on_shelf = fields.Whole("How many of it are on the shelf.")


class SubstituteIn(Body):
    """How a substitute differs."""

    differs = fields.Text("How it differs.", most=300, default="", example="wires are 20 mm longer")


class LessonOut(Answer):
    """A sentence worth seeing again."""

    id = fields.Ident("Its id.")
    text = fields.Text("The sentence.")
    part_id = fields.Ident("The part it is about.", nullable=True)
    unit_model_id = fields.Ident("The unit model it is about.", nullable=True)
    job_id = fields.Ident("The job that taught it.", nullable=True)
    at = fields.Moment("When it was noted.")
    person = fields.Text("Who noted it.")


class LessonIn(Body):
    """A sentence to be kept, about a part, a unit model, or both."""

    text = fields.Text("The sentence.", least=1, most=1000, required=True)
    part_id = fields.Ident("The part it is about.", nullable=True)
    unit_model_id = fields.Ident("The unit model it is about.", nullable=True)
    job_id = fields.Ident("The job that taught it.", nullable=True)


class AttributeOut(Answer):
    """A trade attribute of a kind."""

    key = fields.Text("Its key.")
    label = fields.Text("What people call it.")
    unit = fields.Text("Its unit.")
    words = fields.Many(ma.String(), "The words it may take; none: a number or free text.")
    free = fields.Flag("Any short text.")


class KindOut(Answer):
    """A kind of part and its trade attributes."""

    kind = fields.Text("The kind.")
    attributes = fields.Inner(AttributeOut, "What parts of this kind are told apart by.", many=True)


class HazardOut(Answer):
    """A hazard that parts may have."""

    key = fields.Text("Its key.")
    title = fields.Text("What people call it.")
    line = fields.Text("The line that fits a label.")
    caution = fields.Text("The caution in full sentences.")
