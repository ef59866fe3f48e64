"""Whose the cost of a lot is: the lines of the ledger, told to ``reckoning.lot_cost`` in their order.

A move and a singling out leave the cost on the shelf. What a count misses, and what a reading of a bottle's level
says went, is with nobody (MISSING); a reading's use is spread over jobs by ``levels``. Costs are as noted now:
correcting what a lot cost corrects its past too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from inventory.reckoning.common.apportion import apportion_units
from inventory.reckoning.stock.lot_cost import BENCH, MISSING, SCRAPPED, SUPPLIER, LotCostLedger
from inventory.store import job_use
from inventory.store.connection import execute, run_for


class LotCostLine(NamedTuple):
    """The columns of a ledger line that cost depends on; an undo has the ``kind`` of what it undoes."""

    id: int
    at: int  # microseconds
    lot_id: int
    bin_id: int
    quantity: int
    job_id: int | None
    kind: str


LOT_LINES_SQL = f"SELECT m.id, m.at, m.lot_id, m.bin_id, m.quantity, m.job_id, {job_use.KIND} FROM {job_use.LINES}"
_HOLDER_BY_KIND = {"receive": SUPPLIER, "scrap": SCRAPPED, "count": MISSING}


def cost_holder(line: LotCostLine) -> int | None:
    """Return who gives or gets the units of a line; None when they stay on the shelf."""
    if line.kind in job_use.USE:
        return line.job_id or BENCH
    return _HOLDER_BY_KIND.get(line.kind)


def lot_cost_lines(lot_ids: Iterable[int]) -> Iterator[LotCostLine]:
    """Yield the lines of some lots, in the order of the ledger for each lot."""
    yield from map(LotCostLine._make, run_for(f"{LOT_LINES_SQL} WHERE m.lot_id IN ({{ids}}) ORDER BY m.id", lot_ids))


def lot_receipts() -> dict[int, tuple[int, int | None]]:
    """Return by lot the base units received and their cost in minor units (None: not known)."""
    return {
        int(key): (int(n), cost) for key, n, cost in execute("SELECT id, quantity, cost_minor FROM lots").fetchall()
    }


def cost_ledgers(lot_ids: Iterable[int]) -> dict[int, LotCostLedger]:
    """Return by lot who bears its cost now; lots without a known cost are left out."""
    ledgers = {key: LotCostLedger(number, cost) for key, number, cost in run_for(_KNOWN, lot_ids)}
    for line in lot_cost_lines(ledgers):
        giver = cost_holder(line)
        if giver is not None:
            ledgers[line.lot_id].onto_shelf(line.quantity, giver)
    return ledgers


_KNOWN = """
SELECT id, quantity, cost_minor FROM lots WHERE cost_minor IS NOT NULL AND quantity > 0 AND id IN ({ids})
"""


def costs_in_job(job_id: int, lot_ids: Iterable[int]) -> dict[int, int]:
    """Return by lot what a job bears of its cost, in minor units; a lot whose cost is not known is left out."""
    return {key: money.money(job_id) for key, money in cost_ledgers(lot_ids).items()}


def cost_of_line(lot_id: int, line_id: int) -> int | None:
    """Return the cost that one ledger line moved, in minor units (positive: off the shelf); None: not known."""
    for _, number, cost in run_for(_KNOWN, [lot_id]):
        money = LotCostLedger(number, cost)
        for line in lot_cost_lines([lot_id]):
            giver = cost_holder(line)
            moved = 0 if giver is None else money.onto_shelf(line.quantity, giver)
            if line.id == line_id:
                return -moved
    return None


def split_cost(money: int | None, units: list[int]) -> list[int | None]:
    """Split *money* in proportion to *units* so that the shares add up; None stays None."""
    if money is None or not sum(units):
        return [None if money is None else 0] * len(units)
    return list(apportion_units(money, [float(unit) for unit in units]))
