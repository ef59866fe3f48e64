"""What fits: in place of a part, and into a unit model."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import BinOut
from inventory.api.proof.proof_schemas import PieceSeenOut
from inventory.api.schema import Answer


class DiffersOut(Answer):
    """One way in which a part differs."""

    words = fields.Text("How.", example="0.14 A instead of 0.12 A")
    caution = fields.Flag("It may matter electrically.")


class PlaceOut(Answer):
    """A bin from which some can be taken."""

    bin = fields.Inner(BinOut, "The bin.")
    quantity = fields.Whole("How many loose base units.", most=None)


class PastUseOut(Answer):
    """What happened when it was used in that place before."""

    jobs = fields.Whole("How many jobs keep it in that place.")
    last = fields.Moment("When it was taken for that last.", nullable=True)
    last_job_id = fields.Ident("For which job.", nullable=True)
    tests = fields.Whole("How many swap tests put a piece of it in that place, with a result that says something.")
    worked = fields.Whole("After how many of these the unit worked.")
    sentence = fields.Text("All that in words.")


class InsteadOut(Answer):
    """A part that fits in place of another."""

    part = fields.Inner(PartOut, "The part.")
    declared = fields.Flag("Somebody noted that it may stand in; else its attributes say so.")
    said = fields.Text("How it differs, as somebody put it.")
    differs = fields.Inner(
        DiffersOut, "How it differs by its attributes, what may matter electrically first.", many=True
    )
    on_shelf = fields.Whole("How many there are to be fitted, in base units.", most=None)
    places = fields.Inner(PlaceOut, "Where loose ones are.", many=True)
    pieces = fields.Inner(PieceSeenOut, "Pieces that may be fitted, those to trust most first.", many=True)
    past = fields.Inner(PastUseOut, "What happened before.")


class InsteadOfOut(Answer):
    """What fits in place of a part."""

    part = fields.Inner(PartOut, "The part that was asked for.")
    options = fields.Inner(InsteadOut, "What fits, what can be had first.", many=True)
    more = fields.Whole("How many more fit.")


class StoodInOut(Answer):
    """A part that a job got in place of the one it had asked for."""

    entry = fields.Whole("The entry of the ledger; undo takes this.", least=1, most=None)
    part = fields.Inner(PartOut, "What was asked for.")
    instead = fields.Inner(PartOut, "What was taken.")
    quantity = fields.Whole("How many, in base units.", most=None)
    kept = fields.Whole("How many of these were not put back.", most=None)
    differed = fields.Text("How it differed, as was said then.")
    at = fields.Moment("When.")
    person = fields.Text("Who took it.")


class ModelPartOut(Answer):
    """A part that goes into a unit model."""

    part = fields.Inner(PartOut, "The part.")
    noted = fields.Flag("It is noted to fit; else only past jobs say so.")
    jobs = fields.Whole("How many jobs of the model used it.")
    last = fields.Moment("When last.", nullable=True)
    usual = fields.Whole("How many base units such a job uses as a rule (the lower median).", most=None)
    on_shelf = fields.Whole("How many there are to be fitted, in base units.", most=None)
    bin = fields.Inner(BinOut, "Where some can be taken.", nullable=True)
