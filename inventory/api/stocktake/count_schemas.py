"""Count walks: bins, what was counted, differences."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.movements.movement_schemas import ActionResultOut
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.common.validation import MAX_QUANTITY
from inventory.domain.stocktake.count_records import (
    BinDifferences,
    BinToCount,
    CountDifference,
    CountResult,
    CountSuggestion,
    CountWalkRecord,
    WalkBinRecord,
)


class WalkIn(BodySchema):
    """Which bins to walk past."""

    bin_ids = fields.List(
        fields.Id("A bin."), "The bins; null: all that are in no open walk.", minimum=1, maximum=1000, nullable=True
    )
    blind = fields.Boolean("Do not show what the book says.", default=True)
    note = fields.Text("What to know about this walk.", maximum=300, default="")


WalkOut = response_schema(CountWalkRecord, name="WalkOut")


class WalksQuery(PageQuery):
    """Which walks to list."""

    open = fields.QueryBoolean("Those under way, or those that ended.")


WalkBinOut = response_schema(WalkBinRecord)
BinToCountOut = response_schema(BinToCount)


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


BinCountOut = response_schema(CountResult, name="BinCountOut")
CountDifferenceOut = response_schema(CountDifference, "difference")
BinDifferencesOut = response_schema(BinDifferences)


class BookDifferencesIn(BodySchema):
    """Whose differences to book."""

    bin_ids = fields.List(fields.Id("A bin."), "The bins.", minimum=1, maximum=1000, required=True)
    reason = fields.Text("Why they differ, if it is known.", maximum=200, default="")


class BookedDifferencesOut(ResponseSchema):
    """What was booked."""

    items = fields.Nested(ActionResultOut, "One entry a bin.", many=True)


CountPriorityOut = response_schema(CountSuggestion, name="CountPriorityOut")
