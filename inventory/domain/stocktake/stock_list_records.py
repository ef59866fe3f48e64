"""Records of stock lists: what a row would do, what is wrong with it, and what was taken in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class RowFault:
    """What is wrong with a cell of a list, or (``heading`` empty) with a whole row."""

    row: int
    heading: str
    sentence: str

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

    row: int
    number: str
    name: str
    part: str
    bin_name: str
    bin: str
    quantity: int
    unit: str
    pieces: int
    on_top: bool
    supplier_name: str
    supplier: str
    offer: str
    wrong: tuple[RowFault, ...]
    mind: tuple[str, ...]


@dataclass(frozen=True)
class StockListTotals:
    """What a whole list would do, or did."""

    rows: int = 0
    new_parts: int = 0
    known_parts: int = 0
    new_bins: int = 0
    known_bins: int = 0
    new_suppliers: int = 0
    new_offers: int = 0
    lots: int = 0
    pieces: int = 0


@dataclass(frozen=True)
class StockListImportRecord:
    """A list that was taken in: when, by whom, what it added, and the bins that it names."""

    id: int
    at: datetime
    person: str
    totals: StockListTotals
    bin_ids: tuple[int, ...]


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
