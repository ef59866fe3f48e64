"""Stock lists: the list that is sent, what it would do row by row, and what was taken in."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.stocktake.stock_list_table import MAX_BYTES, MAX_COLUMNS

ROW_STATES = ("new", "known", "")


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


class RowFaultOut(ResponseSchema):
    """What is wrong with a row."""

    row = fields.Integer("The row, as the spreadsheet numbers it: the headings are row 1.", minimum=1)
    heading = fields.Text("The heading of the cell; empty: the whole row.")
    sentence = fields.Text("What is wrong.")


class StockListRowOut(ResponseSchema):
    """What a row would do."""

    row = fields.Integer("The row, as the spreadsheet numbers it: the headings are row 1.", minimum=1)
    number = fields.Text("The part's number.")
    name = fields.Text("What the part is called.")
    part = fields.Text("Whether the part is new; in later rows of it, it is known.", choices=ROW_STATES)
    bin_name = fields.Text("The bin.")
    bin = fields.Text("Whether the bin is new.", choices=ROW_STATES)
    quantity = fields.Integer("How many base units were found.")
    unit = fields.Text("The part's base unit.")
    pieces = fields.Integer("How many pieces with a label of their own it makes.")
    on_top = fields.Boolean("There is some in the bin already.")
    supplier_name = fields.Text("Who sells it.")
    supplier = fields.Text("Whether the supplier is new.", choices=ROW_STATES)
    offer = fields.Text("Whether what the supplier sells it for is new.", choices=ROW_STATES)
    wrong = fields.Nested(RowFaultOut, "What is wrong.", many=True)
    mind = fields.List(ma.String(), "What to know of it, in sentences.")


class StockListTotalsOut(ResponseSchema):
    """What a list would do, or did, counted."""

    rows = fields.Integer("Rows.")
    new_parts = fields.Integer("Parts that are new.")
    known_parts = fields.Integer("Parts that are known, and stay as they are.")
    new_bins = fields.Integer("Bins that are new.")
    known_bins = fields.Integer("Bins that are known.")
    new_suppliers = fields.Integer("Suppliers that are new.")
    new_offers = fields.Integer("Offers that are new.")
    lots = fields.Integer("Lots that were found.")
    pieces = fields.Integer("Pieces with a label of their own among them.")


class StockListOut(ResponseSchema):
    """A list that was taken in."""

    id = fields.Id("Its id.")
    at = fields.DateTime("When.")
    person = fields.Text("By whom; empty: at the command line.")
    totals = fields.Nested(StockListTotalsOut, "What it added.")
    bin_ids = fields.List(ma.Integer(), "The bins that it names: print their labels.")


class StockListPreviewOut(ResponseSchema):
    """What a list would do, or that it was taken in."""

    taken = fields.Nested(StockListOut, "The list as taken in; null: it was only looked at.", nullable=True)
    totals = fields.Nested(StockListTotalsOut, "What it would do, or did.")
    not_known = fields.List(ma.String(), "Headings that are not known: name them in leave_out.")
    before = fields.Nested(StockListOut, "Just this list, taken in before; null: it was not.", nullable=True)
    rows = fields.Nested(StockListRowOut, "Row by row, when it is looked at; empty once it is taken in.", many=True)
