"""Stock lists: the list that is sent, what it would do row by row, and what was taken in."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.schema import Answer, Body
from inventory.domain.stocktake.stock_list_table import MOST_BYTES, MOST_COLUMNS

STATES = ("new", "known", "")


class StockListIn(Body):
    """A list of stock, and what is to be done about what is odd in it."""

    text = fields.Text(
        "CSV (RFC 4180) with commas, semicolons or tabs; the first row names the columns, by key or by the words of "
        "the pages.", least=1, most=MOST_BYTES, required=True, example="number,name,bin\nH-4,4-way header,A-1",
    )  # fmt: skip
    look = fields.Flag("Only look: say what it would do, and write nothing.", default=False)
    leave_out = fields.Many(
        fields.Text("A heading.", most=1000), "Headings that are not known and are to be left out.",
        most=MOST_COLUMNS, default=[],
    )  # fmt: skip
    on_top = fields.Flag("Stock may come on top of what is in its bin already.", default=False)


class FaultOut(Answer):
    """What is wrong with a row."""

    row = fields.Whole("The row, as the spreadsheet numbers it: the headings are row 1.", least=1)
    heading = fields.Text("The heading of the cell; empty: the whole row.")
    sentence = fields.Text("What is wrong.")


class ListRowOut(Answer):
    """What a row would do."""

    row = fields.Whole("The row, as the spreadsheet numbers it: the headings are row 1.", least=1)
    number = fields.Text("The part's number.")
    name = fields.Text("What the part is called.")
    part = fields.Text("Whether the part is new; in later rows of it, it is known.", words=STATES)
    bin_name = fields.Text("The bin.")
    bin = fields.Text("Whether the bin is new.", words=STATES)
    quantity = fields.Whole("How many base units were found.")
    unit = fields.Text("The part's base unit.")
    pieces = fields.Whole("How many pieces with a label of their own it makes.")
    on_top = fields.Flag("There is some in the bin already.")
    supplier_name = fields.Text("Who sells it.")
    supplier = fields.Text("Whether the supplier is new.", words=STATES)
    offer = fields.Text("Whether what the supplier sells it for is new.", words=STATES)
    wrong = fields.Inner(FaultOut, "What is wrong.", many=True)
    mind = fields.Many(ma.String(), "What to know of it, in sentences.")


class TotalsOut(Answer):
    """What a list would do, or did, counted."""

    rows = fields.Whole("Rows.")
    new_parts = fields.Whole("Parts that are new.")
    known_parts = fields.Whole("Parts that are known, and stay as they are.")
    new_bins = fields.Whole("Bins that are new.")
    known_bins = fields.Whole("Bins that are known.")
    new_suppliers = fields.Whole("Suppliers that are new.")
    new_offers = fields.Whole("Offers that are new.")
    lots = fields.Whole("Lots that were found.")
    pieces = fields.Whole("Pieces with a label of their own among them.")


class StockListOut(Answer):
    """A list that was taken in."""

    id = fields.Ident("Its id.")
    at = fields.Moment("When.")
    person = fields.Text("By whom; empty: at the command line.")
    totals = fields.Inner(TotalsOut, "What it added.")
    bin_ids = fields.Many(ma.Integer(), "The bins that it names: print their labels.")


class StockListSeenOut(Answer):
    """What a list would do, or that it was taken in."""

    taken = fields.Inner(StockListOut, "The list as taken in; null: it was only looked at.", nullable=True)
    totals = fields.Inner(TotalsOut, "What it would do, or did.")
    not_known = fields.Many(ma.String(), "Headings that are not known: name them in leave_out.")
    before = fields.Inner(StockListOut, "Just this list, taken in before; null: it was not.", nullable=True)
    rows = fields.Inner(ListRowOut, "Row by row, when it is looked at; empty once it is taken in.", many=True)
