"""Bringing in: what the person who opens the post needs to see, and a receipt as they typed it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.stock import bins
from inventory.stock.at_shelf import bin_names
from inventory.stock.cautions import cautions_of
from inventory.stock.choosing import bin_meant, listed, part_meant
from inventory.stock.jobs import jobs
from inventory.stock.ordering import orders
from inventory.stock.parts import part
from inventory.stock.receive import receive
from inventory.stock.records import BinRecord, Done, JobRecord, PartRecord
from inventory.stock.records_orders import OrderLineRecord, OrderRecord, SupplierRecord
from inventory.stock.records_proof import CautionRecord
from inventory.stock.refusals import Invalid, Refused
from inventory.stock.rules import row
from inventory.stock.scan import scan
from inventory.stock.suppliers import suppliers
from inventory.stock.typed import quantity
from inventory.store import ledger
from inventory.store.tables import Bin, Lot, OrderLine

MOST = 100


@dataclass(frozen=True)
class Expected:
    """A line on which something is still to come, with its order."""

    order: OrderRecord
    line: OrderLineRecord


@dataclass(frozen=True)
class AtDoor:
    """What is being received, as far as is known; ``part`` None: it is still to be said which part."""

    part: PartRecord | None
    cautions: tuple[CautionRecord, ...]
    bin: BinRecord | None
    own_bins: tuple[BinRecord, ...]
    line: OrderLineRecord | None
    expected: tuple[Expected, ...]  # of the part; of every part while it is not known
    suppliers: tuple[SupplierRecord, ...]
    jobs: tuple[JobRecord, ...]
    bin_names: tuple[str, ...]
    part_lines: tuple[str, ...]

    @property
    def bin_now(self) -> str:
        """The bin that the part goes into unless somebody says another: the one scanned, else its own."""
        if self.bin is not None:
            return self.bin.name or self.bin.code
        return (self.own_bins[0].name or "") if self.own_bins else ""


def at_door(
    *, part_id: int | None = None, bin_id: int | None = None, line_id: int | None = None, typed: str = ""
) -> AtDoor:
    """Gather what receiving needs, from a part, a bin, an order line, or what was typed or scanned.

    Raises Invalid with ``choices`` when what was typed may be several parts, or none.
    """
    part_id, bin_id = _start(part_id, bin_id, line_id, typed)
    found = None if part_id is None else part(part_id)
    expected = tuple(_expected(part_id))
    return AtDoor(
        found, () if found is None else cautions_of(found), None if bin_id is None else bins.bin_(bin_id),
        () if part_id is None else tuple(bins.bins(part_id=part_id).items),
        next((one.line for one in expected if one.line.id == line_id), None), expected,
        tuple(suppliers(limit=200).items), tuple(jobs(status="not closed", limit=60).items), bin_names(),
        tuple(listed()) if found is None else (),
    )  # fmt: skip


def _start(part_id: int | None, bin_id: int | None, line_id: int | None, typed: str) -> tuple[int | None, int | None]:
    if line_id is not None:
        return row(OrderLine, line_id, "order line").part_id, bin_id
    if typed.strip():
        return _meant(typed, bin_id)
    if part_id is None and bin_id is not None:
        return bins.bin_(bin_id).part_id, bin_id
    return part_id, bin_id


def _meant(typed: str, bin_id: int | None) -> tuple[int | None, int | None]:
    """Read a scan (a bin's label says the part as well as the place; a lot's says the part), else words."""
    try:
        found = scan(typed)
    except Refused:
        return part_meant(typed).id, bin_id
    if found.what == "bin":
        return row(Bin, found.id, "bin").part_id, found.id
    if found.what == "lot":
        return row(Lot, found.id, "lot").part_id, bin_id
    sentence = f"That is the label of a {found.what}: scan that of a bin or a lot, or type the part."
    raise Invalid(sentence, reason="other_kind", errors={"q": [sentence]})


def _expected(part_id: int | None) -> list[Expected]:
    placed = orders(status="placed", part_id=part_id, limit=MOST).items
    return [
        Expected(one, line)
        for one in sorted(placed, key=lambda order: (order.expected is None, order.expected, order.id))
        for line in one.lines
        if line.outstanding and part_id in (None, line.part.id)
    ]


def bring_in(part_id: int, amount: str, bin_typed: str, *, by: int, new_bin: bool = False, **more: Any) -> Done:
    """Receive an *amount* as typed into the bin that *bin_typed* means; *more* as ``receive`` takes it.

    *new_bin*: there is no such bin yet, add it for this part.
    """
    with ledger.writing_lines():
        number = quantity(amount, part(part_id).unit)
        into = bins.add_bin(bin_typed, part_id) if new_bin else bin_meant(bin_typed)
        return receive(part_id, number, into.id, by=by, **more)
