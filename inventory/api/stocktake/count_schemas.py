"""Count walks: bins, what was counted, differences."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import BinOut, LotOut, PieceOut
from inventory.api.movements.movement_schemas import ActionResultOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.common.validation import MAX_QUANTITY

WALK_BIN_STATES = ("to count", "recount", "counted", "booked", "left out")


class WalkIn(BodySchema):
    """Which bins to walk past."""

    bin_ids = fields.List(
        fields.Id("A bin."), "The bins; null: all that are in no open walk.", minimum=1, maximum=1000, nullable=True
    )
    blind = fields.Boolean("Do not show what the book says.", default=True)
    note = fields.Text("What to know about this walk.", maximum=300, default="")


class WalkOut(ResponseSchema):
    """A count walk."""

    id = fields.Id("Its id.")
    started = fields.DateTime("When it began.")
    person = fields.Text("Who began it.")
    blind = fields.Boolean("What the book says is not shown.")
    ended = fields.DateTime("When it ended; null: it is under way.", nullable=True)
    note = fields.Text("What to know about it.")
    bins = fields.Integer("How many bins it has.")
    to_count = fields.Integer("How many are still to be counted.")
    differ = fields.Integer("How many wait for their differences to be reviewed.")


class WalksQuery(PageQuery):
    """Which walks to list."""

    open = fields.QueryBoolean("Those under way, or those that ended.")


class WalkBinOut(ResponseSchema):
    """A bin of a walk."""

    id = fields.Id("Its id in the walk.")
    bin = fields.Nested(BinOut, "The bin.")
    state = fields.Text("How far it is.", choices=WALK_BIN_STATES)
    person = fields.Text("Who is or was at it.")
    person_id = fields.Id("The same, by id.", nullable=True)
    busy = fields.Boolean("That person is at it now.")
    rounds = fields.Integer("How often it was counted.")


class LotToCountOut(ResponseSchema):
    """Loose units of a lot to be counted."""

    part = fields.Nested(PartOut, "The part.")
    lot = fields.Nested(LotOut, "The lot.")
    booked = fields.Integer("What the book says; null on a blind walk.", nullable=True)


class BinToCountOut(ResponseSchema):
    """What to count in a bin."""

    walk = fields.Nested(WalkOut, "The walk.")
    bin = fields.Nested(WalkBinOut, "The bin.")
    lots = fields.Nested(LotToCountOut, "The lots, loose.", many=True)
    pieces = fields.Nested(PieceOut, "The pieces that should be there.", many=True)
    line = fields.Integer("The end of the ledger as it was read: send it back with the tally.", maximum=None)
    why_again = fields.Text("Why it is counted again.")
    gone = fields.Nested(
        LotToCountOut, "Used up by the book; tally those of them that are here all the same.", many=True
    )


class LotCountIn(BodySchema):
    """How many of a lot are there."""

    lot_id = fields.Id("The lot.", required=True)
    quantity = fields.Integer("How many base units, loose.", maximum=MAX_QUANTITY, required=True)


class PieceCountIn(BodySchema):
    """Whether a piece is there."""

    piece_id = fields.Id("The piece.", required=True)
    seen = fields.Boolean("It is there.", required=True)


class BinCountIn(BodySchema):
    """What was counted in a bin."""

    line = fields.Integer("The line that came with what to count.", maximum=2**62, required=True)
    lots = fields.Nested(LotCountIn, "Every lot that was asked for.", many=True, required=True)
    pieces = fields.Nested(PieceCountIn, "The pieces that were asked for.", many=True)


class BinCountOut(ResponseSchema):
    """What came of a count."""

    bin = fields.Nested(WalkBinOut, "The bin, and how far it is now.")
    sentence = fields.Text("What was found, for people.")
    entry = fields.Integer("Its entry in the ledger, when it is booked already.", maximum=None, nullable=True)


class CountDifferenceOut(ResponseSchema):
    """Something of which the last count says something else than the book."""

    part = fields.Nested(PartOut, "The part.")
    lot = fields.Nested(LotOut, "The lot.")
    piece = fields.Nested(PieceOut, "The piece that is missing.", nullable=True)
    booked = fields.Integer("What the book said when the count began.")
    counted = fields.Integer("What was counted.")
    difference = fields.Integer("How many more, below zero fewer.", minimum=-MAX_QUANTITY)
    rounds = fields.Integer("How often it was counted.")
    person = fields.Text("Who counted it last.")
    at = fields.DateTime("When.")
    value_minor = fields.Integer(
        "What the difference cost, in minor units.", minimum=None, maximum=None, nullable=True
    )


class BinDifferencesOut(ResponseSchema):
    """The differences of one bin."""

    bin = fields.Nested(BinOut, "The bin.")
    differences = fields.Nested(CountDifferenceOut, "What differs.", many=True)
    stale = fields.Text("Why they cannot be booked as they are; empty: they can.")


class BookDifferencesIn(BodySchema):
    """Whose differences to book."""

    bin_ids = fields.List(fields.Id("A bin."), "The bins.", minimum=1, maximum=1000, required=True)
    reason = fields.Text("Why they differ, if it is known.", maximum=200, default="")


class BookedDifferencesOut(ResponseSchema):
    """What was booked."""

    items = fields.Nested(ActionResultOut, "One entry a bin.", many=True)


class CountPriorityOut(ResponseSchema):
    """A bin that should be counted soon."""

    bin = fields.Nested(BinOut, "The bin.")
    p_wrong = fields.BoundedNumber("The chance that its book is wrong.")
    at_stake_minor = fields.Integer("What is at stake, in minor units.", maximum=None)
    value_minor = fields.Integer("What is in it cost, in minor units, as far as it is known.", maximum=None)
    counted = fields.DateTime("When it was last counted.", nullable=True)
    words = fields.Text("Why, in words.")
    walk_id = fields.Id("The open walk it is in.", nullable=True)
