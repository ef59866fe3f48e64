"""What fits: in place of a part, and into a unit model."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import BinOut
from inventory.api.proof.proof_schemas import PieceStatusOut
from inventory.api.schema import ResponseSchema


class PartDifferenceOut(ResponseSchema):
    """One way in which a part differs."""

    words = fields.Text("How.", example="0.14 A instead of 0.12 A")
    caution = fields.Boolean("It may matter electrically.")


class StockPlaceOut(ResponseSchema):
    """A bin from which some can be taken."""

    bin = fields.Nested(BinOut, "The bin.")
    quantity = fields.Integer("How many loose base units.", maximum=None)


class SubstituteRecordOut(ResponseSchema):
    """What happened when it was used in that place before."""

    jobs = fields.Integer("How many jobs keep it in that place.")
    last = fields.DateTime("When it was taken for that last.", nullable=True)
    last_job_id = fields.Id("For which job.", nullable=True)
    tests = fields.Integer("How many swap tests put a piece of it in that place, with a result that says something.")
    worked = fields.Integer("After how many of these the unit worked.")
    sentence = fields.Text("All that in words.")


class SubstituteOptionOut(ResponseSchema):
    """A part that fits in place of another."""

    part = fields.Nested(PartOut, "The part.")
    declared = fields.Boolean("Somebody noted that it may stand in; else its attributes say so.")
    said = fields.Text("How it differs, as somebody put it.")
    differs = fields.Nested(
        PartDifferenceOut, "How it differs by its attributes, what may matter electrically first.", many=True
    )
    on_shelf = fields.Integer("How many there are to be fitted, in base units.", maximum=None)
    places = fields.Nested(StockPlaceOut, "Where loose ones are.", many=True)
    pieces = fields.Nested(PieceStatusOut, "Pieces that may be fitted, those to trust most first.", many=True)
    past = fields.Nested(SubstituteRecordOut, "What happened before.")


class SubstituteOptionsOut(ResponseSchema):
    """What fits in place of a part."""

    part = fields.Nested(PartOut, "The part that was asked for.")
    options = fields.Nested(SubstituteOptionOut, "What fits, what can be had first.", many=True)
    more = fields.Integer("How many more fit.")


class JobSubstituteOut(ResponseSchema):
    """A part that a job got in place of the one it had asked for."""

    entry = fields.Integer("The entry of the ledger; undo takes this.", minimum=1, maximum=None)
    part = fields.Nested(PartOut, "What was asked for.")
    instead = fields.Nested(PartOut, "What was taken.")
    quantity = fields.Integer("How many, in base units.", maximum=None)
    kept = fields.Integer("How many of these were not put back.", maximum=None)
    differed = fields.Text("How it differed, as was said then.")
    at = fields.DateTime("When.")
    person = fields.Text("Who took it.")


class ModelPartOut(ResponseSchema):
    """A part that goes into a unit model."""

    part = fields.Nested(PartOut, "The part.")
    noted = fields.Boolean("It is noted to fit; else only past jobs say so.")
    jobs = fields.Integer("How many jobs of the model used it.")
    last = fields.DateTime("When last.", nullable=True)
    usual = fields.Integer("How many base units such a job uses as a rule (the lower median).", maximum=None)
    on_shelf = fields.Integer("How many there are to be fitted, in base units.", maximum=None)
    bin = fields.Nested(BinOut, "Where some can be taken.", nullable=True)
