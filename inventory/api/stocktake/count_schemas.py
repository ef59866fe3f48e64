"""Count walks: bins, what was counted, differences."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import BinOut, LotOut, PieceOut
from inventory.api.movements.movement_schemas import DoneOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body
from inventory.domain.common.validation import MOST

STATES = ("to count", "recount", "counted", "booked", "left out")


class WalkIn(Body):
    """Which bins to walk past."""

    bin_ids = fields.Many(
        fields.Ident("A bin."), "The bins; null: all that are in no open walk.", least=1, most=1000, nullable=True
    )
    blind = fields.Flag("Do not show what the book says.", default=True)
    note = fields.Text("What to know about this walk.", most=300, default="")


class WalkOut(Answer):
    """A count walk."""

    id = fields.Ident("Its id.")
    started = fields.Moment("When it began.")
    person = fields.Text("Who began it.")
    blind = fields.Flag("What the book says is not shown.")
    ended = fields.Moment("When it ended; null: it is under way.", nullable=True)
    note = fields.Text("What to know about it.")
    bins = fields.Whole("How many bins it has.")
    to_count = fields.Whole("How many are still to be counted.")
    differ = fields.Whole("How many wait for their differences to be reviewed.")


class WalksQuery(PageQuery):
    """Which walks to list."""

    open = fields.AskedFlag("Those under way, or those that ended.")


class WalkBinOut(Answer):
    """A bin of a walk."""

    id = fields.Ident("Its id in the walk.")
    bin = fields.Inner(BinOut, "The bin.")
    state = fields.Text("How far it is.", words=STATES)
    person = fields.Text("Who is or was at it.")
    person_id = fields.Ident("The same, by id.", nullable=True)
    busy = fields.Flag("That person is at it now.")
    rounds = fields.Whole("How often it was counted.")


class LotToCountOut(Answer):
    """Loose units of a lot to be counted."""

    part = fields.Inner(PartOut, "The part.")
    lot = fields.Inner(LotOut, "The lot.")
    booked = fields.Whole("What the book says; null on a blind walk.", nullable=True)


class BinToCountOut(Answer):
    """What to count in a bin."""

    walk = fields.Inner(WalkOut, "The walk.")
    bin = fields.Inner(WalkBinOut, "The bin.")
    lots = fields.Inner(LotToCountOut, "The lots, loose.", many=True)
    pieces = fields.Inner(PieceOut, "The pieces that should be there.", many=True)
    line = fields.Whole("The end of the ledger as it was read: send it back with the tally.", most=None)
    why_again = fields.Text("Why it is counted again.")
    gone = fields.Inner(
        LotToCountOut, "Used up by the book; tally those of them that are here all the same.", many=True
    )


class LotCountedIn(Body):
    """How many of a lot are there."""

    lot_id = fields.Ident("The lot.", required=True)
    quantity = fields.Whole("How many base units, loose.", most=MOST, required=True)


class PieceSeenIn(Body):
    """Whether a piece is there."""

    piece_id = fields.Ident("The piece.", required=True)
    seen = fields.Flag("It is there.", required=True)


class TallyIn(Body):
    """What was counted in a bin."""

    line = fields.Whole("The line that came with what to count.", most=2**62, required=True)
    lots = fields.Inner(LotCountedIn, "Every lot that was asked for.", many=True, required=True)
    pieces = fields.Inner(PieceSeenIn, "The pieces that were asked for.", many=True)


class CountedOut(Answer):
    """What came of a count."""

    bin = fields.Inner(WalkBinOut, "The bin, and how far it is now.")
    sentence = fields.Text("What was found, for people.")
    entry = fields.Whole("Its entry in the ledger, when it is booked already.", most=None, nullable=True)


class DifferenceOut(Answer):
    """Something of which the last count says something else than the book."""

    part = fields.Inner(PartOut, "The part.")
    lot = fields.Inner(LotOut, "The lot.")
    piece = fields.Inner(PieceOut, "The piece that is missing.", nullable=True)
    booked = fields.Whole("What the book said when the count began.")
    counted = fields.Whole("What was counted.")
    difference = fields.Whole("How many more, below zero fewer.", least=-MOST)
    rounds = fields.Whole("How often it was counted.")
    person = fields.Text("Who counted it last.")
    at = fields.Moment("When.")
    value_minor = fields.Whole("What the difference cost, in minor units.", least=None, most=None, nullable=True)


class BinDiffersOut(Answer):
    """The differences of one bin."""

    bin = fields.Inner(BinOut, "The bin.")
    differences = fields.Inner(DifferenceOut, "What differs.", many=True)
    stale = fields.Text("Why they cannot be booked as they are; empty: they can.")


class BookIn(Body):
    """Whose differences to book."""

    bin_ids = fields.Many(fields.Ident("A bin."), "The bins.", least=1, most=1000, required=True)
    reason = fields.Text("Why they differ, if it is known.", most=200, default="")


class BookedOut(Answer):
    """What was booked."""

    items = fields.Inner(DoneOut, "One entry a bin.", many=True)


class CountSoonOut(Answer):
    """A bin that should be counted soon."""

    bin = fields.Inner(BinOut, "The bin.")
    p_wrong = fields.Share("The chance that its book is wrong.")
    at_stake_minor = fields.Whole("What is at stake, in minor units.", most=None)
    value_minor = fields.Whole("What is in it cost, in minor units, as far as it is known.", most=None)
    counted = fields.Moment("When it was last counted.", nullable=True)
    words = fields.Text("Why, in words.")
    walk_id = fields.Ident("The open walk it is in.", nullable=True)
