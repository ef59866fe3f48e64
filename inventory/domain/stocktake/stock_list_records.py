"""Records of stock lists: what a row would do, what is wrong with it, and what was taken in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from inventory.domain.common.described import About

ROW_STATES = ("new", "known", "")


@dataclass(frozen=True)
class RowFault:
    """What is wrong with a cell of a list, or (``heading`` empty) with a whole row."""

    row: Annotated[int, About("The row, as the spreadsheet numbers it: the headings are row 1.", minimum=1)]
    heading: Annotated[str, "The heading of the cell; empty: the whole row."]
    sentence: Annotated[str, "What is wrong."]

    @property
    def place(self) -> str:
        """Where it is: "Row 7, quantity"."""
        return f"Row {self.row}, {self.heading}" if self.heading else f"Row {self.row}"

    def __str__(self) -> str:
        return f"{self.place}: {self.sentence}"


@dataclass(frozen=True)
class PreviewRow:
    """What a row would do. ``part``, ``bin`` and ``supplier`` are new, known or empty; so is ``offer``.

    ``quantity`` is in base units of ``unit``, 0 where nothing was found; ``on_top``: some is in the bin already.
    """

    row: Annotated[int, About("The row, as the spreadsheet numbers it: the headings are row 1.", minimum=1)]
    number: Annotated[str, "The part's number."]
    name: Annotated[str, "What the part is called."]
    part: Annotated[str, About("Whether the part is new; in later rows of it, it is known.", choices=ROW_STATES)]
    bin_name: Annotated[str, "The bin."]
    bin: Annotated[str, About("Whether the bin is new.", choices=ROW_STATES)]
    quantity: Annotated[int, "How many base units were found."]
    unit: Annotated[str, "The part's base unit."]
    pieces: Annotated[int, "How many pieces with a label of their own it makes."]
    on_top: Annotated[bool, "There is some in the bin already."]
    supplier_name: Annotated[str, "Who sells it."]
    supplier: Annotated[str, About("Whether the supplier is new.", choices=ROW_STATES)]
    offer: Annotated[str, About("Whether what the supplier sells it for is new.", choices=ROW_STATES)]
    wrong: Annotated[tuple[RowFault, ...], "What is wrong."]
    mind: Annotated[tuple[str, ...], "What to know of it, in sentences."]


@dataclass(frozen=True)
class StockListTotals:
    """What a whole list would do, or did."""

    rows: Annotated[int, "Rows."] = 0
    new_parts: Annotated[int, "Parts that are new."] = 0
    known_parts: Annotated[int, "Parts that are known, and stay as they are."] = 0
    new_bins: Annotated[int, "Bins that are new."] = 0
    known_bins: Annotated[int, "Bins that are known."] = 0
    new_suppliers: Annotated[int, "Suppliers that are new."] = 0
    new_offers: Annotated[int, "Offers that are new."] = 0
    lots: Annotated[int, "Lots that were found."] = 0
    pieces: Annotated[int, "Pieces with a label of their own among them."] = 0


@dataclass(frozen=True)
class StockListImportRecord:
    """A list that was taken in: when, by whom, what it added, and the bins that it names."""

    id: Annotated[int, "Its id."]
    at: Annotated[datetime, "When."]
    person: Annotated[str, "By whom; empty: at the command line."]
    totals: Annotated[StockListTotals, "What it added."]
    bin_ids: Annotated[tuple[int, ...], "The bins that it names: print their labels."]


@dataclass(frozen=True)
class PreviewedStockList:
    """A list as looked at. ``before``: just this list was taken in already."""

    rows: tuple[PreviewRow, ...]
    totals: StockListTotals
    not_known: tuple[str, ...]  # headings
    before: StockListImportRecord | None

    @property
    def wrong(self) -> tuple[RowFault, ...]:
        """All that is wrong, row by row."""
        return tuple(fault for row in self.rows for fault in row.wrong)

    @property
    def on_top(self) -> int:
        """In how many rows there is some in the bin already."""
        return sum(row.on_top for row in self.rows)

    @property
    def minded(self) -> tuple[PreviewRow, ...]:
        """The rows of which there is something to know."""
        return tuple(row for row in self.rows if row.mind)
