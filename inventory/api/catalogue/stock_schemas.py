"""Bins, lots, what is in them, holds, and pieces as stock."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import body_schema, edit_schema, response_schema
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.catalogue.lots import TEXT_LIMITS
from inventory.domain.common.records import BinRecord, Holding, HoldRecord, LotRecord, PieceRecord

BinOut = response_schema(BinRecord)
BinIn = body_schema(BinRecord)
BinEdit = edit_schema(BinRecord)


class BlankBinsIn(BodySchema):
    """How many bins without a name to make."""

    number = fields.Integer("How many, 1 to 500.", minimum=1, maximum=500, required=True)


class BlankBinsOut(ResponseSchema):
    """Bins that were made for labels to be stuck on first."""

    items = fields.Nested(BinOut, "The bins.", many=True)


class BinsQuery(PageQuery):
    """Which bins to list."""

    part_id = fields.QueryId("Of this part.")
    named = fields.QueryBoolean("true: those in use; false: blank labels.")
    retired = fields.QueryBoolean("Those no longer used instead.", default=False)


LotEdit = edit_schema(LotRecord)
LotOut = response_schema(LotRecord)


class LotsQuery(PageQuery):
    """Which lots to list."""

    part_id = fields.QueryId("Of this part.")
    supplier_id = fields.QueryId("From this supplier.")
    on_hold = fields.QueryBoolean("Those on hold, or those that are not.")
    maker_lot = fields.Text("With just this lot number of the maker.", maximum=TEXT_LIMITS["maker_lot"])


class HoldIn(BodySchema):
    """Why nobody may pull from a lot."""

    reason = fields.Text("Why.", minimum=1, maximum=300, required=True, example="two of five headers cracked")


class ReleaseIn(BodySchema):
    """What was found about a lot on hold."""

    outcome = fields.Text("What was found.", maximum=300, default="")


HoldOut = response_schema(HoldRecord)
HoldingOut = response_schema(Holding)


class HoldingsQuery(PageQuery):
    """Whose loose stock to list."""

    bin_id = fields.QueryId("In this bin.")
    part_id = fields.QueryId("Of this part.")
    lot_id = fields.QueryId("Of this lot.")


PieceOut = response_schema(PieceRecord)
