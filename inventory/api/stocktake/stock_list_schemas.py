"""Stock lists: the list that is sent, what it would do row by row, and what was taken in."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.stocktake.stock_list_records import PreviewRow, StockListImportRecord, StockListTotals
from inventory.domain.stocktake.stock_list_table import MAX_BYTES, MAX_COLUMNS


class StockListIn(BodySchema):
    """A list of stock, and what is to be done about what is odd in it."""

    text = fields.Text(
        "CSV (RFC 4180) with commas, semicolons or tabs; the first row names the columns, by key or by the words of "
        "the pages.", minimum=1, maximum=MAX_BYTES, required=True, example="number,name,bin\nH-4,4-way header,A-1",
    )  # fmt: skip
    look = fields.Boolean("Only look: say what it would do, and write nothing.", default=False)
    leave_out = fields.List(
        fields.Text("A heading.", maximum=1000), "Headings that are not known and are to be left out.",
        maximum=MAX_COLUMNS, default=[],
    )  # fmt: skip
    on_top = fields.Boolean("Stock may come on top of what is in its bin already.", default=False)


StockListRowOut = response_schema(PreviewRow, name="StockListRowOut")
StockListTotalsOut = response_schema(StockListTotals)
StockListOut = response_schema(StockListImportRecord, name="StockListOut")


class StockListPreviewOut(ResponseSchema):
    """What a list would do, or that it was taken in."""

    taken = fields.Nested(StockListOut, "The list as taken in; null: it was only looked at.", nullable=True)
    totals = fields.Nested(StockListTotalsOut, "What it would do, or did.")
    not_known = fields.List(ma.String(), "Headings that are not known: name them in leave_out.")
    before = fields.Nested(StockListOut, "Just this list, taken in before; null: it was not.", nullable=True)
    rows = fields.Nested(StockListRowOut, "Row by row, when it is looked at; empty once it is taken in.", many=True)
