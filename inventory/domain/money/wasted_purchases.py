"""Wasted purchases, and what became of them.

Two things count, nothing else. Bought for a job: the order named it, the job is closed, and these units are not in
its unit. Bought on a guess: ordered for no job, of a part that no job had used before, no job has used any of it in
the GUESS_DAYS since, and the owner fixed no level for it. Whether a job had used a part before is known only
once the ledger is GUESS_DAYS old: the stock that a bench begins with is no guess. What is kept by level is left out:
its use is not booked by job.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.catalogue.lot_costs import cost_holder, cost_ledgers, lot_cost_lines, split_cost
from inventory.domain.common import clock
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import JobRecord, LotRecord, PartRecord, from_row
from inventory.domain.money.money_records import Fate, WastedPurchase
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.quality.trace import job_records
from inventory.reckoning.stock.lot_cost import BENCH, MISSING, SCRAPPED, SHELF, SUPPLIER, LotCostLedger
from inventory.store.connection import execute
from inventory.store.fields import MICROS_PER_DAY, to_micros
from inventory.store.job_use import IS_USE, LINES, standing_lines
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Lot, Part, Piece, SentBack, Supplier

GUESS_DAYS = 90
IDLE_FATES = ("still lying there", "scrapped", "missing at a count")
MAX_NAMES = 6

_FOR_A_JOB = """
SELECT l.id, n.job_id FROM lots l JOIN order_lines n ON n.id = l.order_line_id JOIN jobs j ON j.id = n.job_id
JOIN parts p ON p.id = l.part_id WHERE j.status = 'closed' AND p.kept <> 'by level'
"""
# what the job of a pull ``t`` keeps of its lot, below zero; asked pull by pull, as the first that was kept settles it
_KEPT = f"(SELECT SUM(m.quantity) FROM {LINES} WHERE m.job_id = t.job_id AND m.lot_id = t.lot_id AND {IS_USE}"
_ON_A_GUESS = f"""
SELECT l.id, NULL FROM lots l JOIN parts p ON p.id = l.part_id
LEFT JOIN order_lines n ON n.id = l.order_line_id
WHERE l.origin = 'delivery' AND n.job_id IS NULL AND p.kept <> 'by level' AND p.level IS NULL AND l.received < ?
  AND l.received > ? + (SELECT MIN(at) FROM movements)
  AND NOT EXISTS (SELECT 1 FROM movements t WHERE t.part_id = l.part_id AND t.at < l.received
                  AND t.job_id IS NOT NULL AND t.kind = 'pull' AND {_KEPT} AND m.at < l.received) < 0)
  AND NOT EXISTS (SELECT 1 FROM movements t WHERE t.lot_id = l.id
                  AND t.job_id IS NOT NULL AND t.kind = 'pull' AND {_KEPT}) < 0)
"""


@dataclass(frozen=True)
class WastedPurchaseReport:
    """Wasted purchases, the most expensive first, and sums of known costs: minor units, by what became of them."""

    items: tuple[WastedPurchase, ...]
    cost_minor: int
    idle_minor: int
    without_cost: int
    by_fate: tuple[tuple[str, int], ...]


def wasted_purchases() -> WastedPurchaseReport:
    """Return all wasted purchases up to now."""
    purchases = sorted(_find_wasted(), key=lambda purchase: (-(purchase.cost_minor or 0), -purchase.lot.id))
    sums: dict[str, int] = defaultdict(int)
    for purchase in purchases:
        for fate in purchase.fates:
            sums[fate.word] += fate.cost_minor or 0
    return WastedPurchaseReport(
        tuple(purchases), sum(purchase.cost_minor or 0 for purchase in purchases),
        sum(purchase.idle_minor or 0 for purchase in purchases),
        sum(purchase.cost_minor is None for purchase in purchases),
        tuple(sorted(sums.items(), key=lambda pair: -pair[1])),
    )  # fmt: skip


def _find_wasted() -> Iterator[WastedPurchase]:
    for_job = {int(lot): int(job) for lot, job in execute(_FOR_A_JOB).fetchall()}
    guessed = execute(
        _ON_A_GUESS, to_micros(clock.now()) - GUESS_DAYS * MICROS_PER_DAY, GUESS_DAYS * MICROS_PER_DAY
    ).fetchall()
    ids = [*for_job, *(int(lot) for lot, _ in guessed)]
    held, money, rows = _units_by_holder(ids), cost_ledgers(ids), _lots_by_id(ids)
    records = {
        record.id: record
        for record in job_records({*for_job.values(), *(h for holders in held.values() for h in holders)})
    }
    for lot_id in ids:
        job = records.get(for_job.get(lot_id, 0))
        purchase = _wasted_purchase(rows[lot_id], job, held[lot_id], money.get(lot_id), records)
        if purchase is not None:
            yield purchase


def _lots_by_id(ids: Sequence[int]) -> dict[int, Any]:
    return {lot.id: lot for lot in Lot.select(Lot, Part).join(Part).where(Lot.id << list(ids))}


def _units_by_holder(ids: Iterable[int]) -> dict[int, dict[int, int]]:
    """Return the units by holder for each lot, whether its cost is known or not."""
    held: dict[int, dict[int, int]] = {lot_id: defaultdict(int) for lot_id in ids}
    for line in lot_cost_lines(held):
        giver = cost_holder(line)
        if giver is not None:
            held[line.lot_id][SHELF] += line.quantity
            held[line.lot_id][giver] -= line.quantity
    return {
        lot_id: {holder: units for holder, units in units_held.items() if units > 0}
        for lot_id, units_held in held.items()
    }


def _wasted_purchase(
    lot: Any, job: JobRecord | None, held: dict[int, int], ledger: LotCostLedger | None, jobs: dict[int, JobRecord]
) -> WastedPurchase | None:
    """Return what of a lot was wasted; None when nothing was."""
    job_id = 0 if job is None else job.id
    wasted = {
        holder: units
        for holder, units in held.items()
        if holder not in (SUPPLIER, job_id) or (holder == SHELF and job is None)
    }
    if not wasted:
        return None
    fates = [fate for holder, units in wasted.items() for fate in _fates(lot, holder, units, ledger, jobs)]
    supplier = Supplier.get_or_none(Supplier.id == lot.supplier_id)
    costs = [fate.cost_minor for fate in fates]
    all_known = None not in costs
    part = from_row(PartRecord, lot.part)
    return WastedPurchase(
        from_row(LotRecord, lot), part, job, _describe_reason(lot, job, sum(wasted.values()), held.get(job_id, 0)),
        supplier.name if supplier else "", sum(wasted.values()),
        sum(cost or 0 for cost in costs) if all_known else None,
        sum(fate.cost_minor or 0 for fate in fates if fate.word in IDLE_FATES) if all_known else None, tuple(fates),
    )  # fmt: skip


def _describe_reason(lot: Any, job: JobRecord | None, number: int, used: int) -> str:
    if job is None:
        return f"Bought for no job; no job had used the part before, and none has used this in {GUESS_DAYS} days."
    has = f"which used {quantity_text(used, lot.part)}" if used > 0 else "which used none of it"
    return f"Bought for job {job.number}, {has}: {quantity_text(number, lot.part)} not needed there."


# ---- what became of it -----------------------------------------------------------------------------------


def _fates(
    lot: Any, holder: int, units: int, ledger: LotCostLedger | None, jobs: dict[int, JobRecord]
) -> Iterator[Fate]:  # fmt: skip
    worth = None if ledger is None else ledger.money(holder)
    if holder == SHELF:
        yield from _split_cost(_shelf_fates(lot, units), worth)
    elif holder == SCRAPPED:
        yield from _split_cost(_scrap_fates(lot.id, units), worth)
    elif holder == MISSING:
        yield Fate("missing at a count", units, worth)
    elif holder == BENCH:
        yield Fate("used by the bench", units, worth)
    else:
        yield Fate("used by another job", units, worth, f"job {jobs[holder].number}")


def _split_cost(shares: Sequence[tuple[str, int, str]], worth: int | None) -> Iterator[Fate]:
    costs = split_cost(worth, [units for _, units, _ in shares])
    for (word, units, detail), cost in zip(shares, costs, strict=True):
        yield Fate(word, units, cost, detail)


def _shelf_fates(lot: Any, units: int) -> list[tuple[str, int, str]]:
    spares = (
        Piece.select(Piece.id).where(Piece.lot == lot.id, Piece.spare, Piece.bin.is_null(False)).order_by(Piece.id)
    )
    statuses = piece_statuses([spare.id for spare in spares])
    proved = [status for status in statuses if status.standing.word == "proved"]
    others = [status for status in statuses if status.standing.word != "proved"]
    bins = _join_names(_bin_names(lot.id)) if units > len(statuses) else ""
    shares = [
        ("became a proved spare", len(proved), _join_names(status.piece.shown_as for status in proved)),
        ("kept as a spare, not proved now", len(others), _join_names(other.piece.shown_as for other in others)),
        ("still lying there", units - len(statuses), bins),
    ]
    return [share for share in shares if share[1] > 0]


_BINS_SQL = f"""
SELECT DISTINCT COALESCE(b.name, b.code) FROM {IN_BINS} s JOIN bins b ON b.id = s.bin_id
WHERE s.lot_id = ? AND NOT s.spare ORDER BY 1
"""


def _bin_names(lot_id: int) -> list[str]:
    return [f"bin {name}" for (name,) in execute(_BINS_SQL, lot_id).fetchall()]


def _scrap_fates(lot_id: int, units: int) -> list[tuple[str, int, str]]:
    lines = standing_lines(lot_id, "scrap")
    entries = {row.entry for row in SentBack.select(SentBack.entry).where(SentBack.lot == lot_id)}
    sent_back = [line for line in lines if line.entry in entries]
    scrapped = [line for line in lines if line not in sent_back]
    went_back = min(units, -sum(line.quantity for line in sent_back))
    shares = [
        ("sent back", went_back, _join_names(line.reason for line in sent_back)),
        ("scrapped", units - went_back, _join_names(line.reason for line in scrapped)),
    ]
    return [share for share in shares if share[1] > 0]


def _join_names(texts: Iterable[str]) -> str:
    names = list(dict.fromkeys(texts))
    omitted = len(names) - MAX_NAMES
    return ", ".join(names[:MAX_NAMES]) + (f" and {omitted} more" if omitted > 0 else "")
