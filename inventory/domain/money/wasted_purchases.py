"""What was bought in vain, and what became of it.

Two things count, nothing else. Bought for a job: the order named it, the job is closed, and these units are not in
its unit. Bought on a guess: ordered for no job, of a part that no job had used before, no job has used any of it in
the GUESS_DAYS since, and the owner fixed no level for it. Whether a job had used a part before, the book can say only
once it is GUESS_DAYS old: the stock that a bench begins with is no guess. What is kept by level is left out: nobody
books a drop.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.catalogue.lot_costs import holder, lines_of, money_of, split
from inventory.domain.common import clock
from inventory.domain.common.quantity_text import amount
from inventory.domain.common.records import JobRecord, LotRecord, PartRecord, read
from inventory.domain.money.money_records import Fate, InVain
from inventory.domain.proof.standings import see
from inventory.domain.quality.trace import job_records
from inventory.reckoning.stock.lot_cost import BENCH, MISSING, SCRAPPED, SHELF, SUPPLIER, LotMoney
from inventory.store.connection import run
from inventory.store.fields import to_micros
from inventory.store.job_use import IS_USE, LINES, standing_lines
from inventory.store.tables import Lot, Part, Piece, SentBack, Supplier

GUESS_DAYS = 90
DAY = 86_400_000_000  # microseconds
IDLE = ("still lying there", "scrapped", "missing at a count")
MOST_NAMED = 6

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
class InVainReport:
    """What was bought in vain, the dearest first, and sums of what is known: minor units, by what became of it."""

    items: tuple[InVain, ...]
    cost_minor: int
    idle_minor: int
    without_cost: int
    by_fate: tuple[tuple[str, int], ...]


def bought_in_vain() -> InVainReport:
    """Return all that was bought in vain by now."""
    found = sorted(_found(), key=lambda one: (-(one.cost_minor or 0), -one.lot.id))
    sums: dict[str, int] = defaultdict(int)
    for one in found:
        for fate in one.fates:
            sums[fate.word] += fate.cost_minor or 0
    return InVainReport(
        tuple(found), sum(one.cost_minor or 0 for one in found), sum(one.idle_minor or 0 for one in found),
        sum(one.cost_minor is None for one in found), tuple(sorted(sums.items(), key=lambda pair: -pair[1])),
    )  # fmt: skip


def _found() -> Iterator[InVain]:
    for_job = {int(lot): int(job) for lot, job in run(_FOR_A_JOB).fetchall()}
    guessed = run(_ON_A_GUESS, to_micros(clock.now()) - GUESS_DAYS * DAY, GUESS_DAYS * DAY).fetchall()
    ids = [*for_job, *(int(lot) for lot, _ in guessed)]
    held, money, rows = _units(ids), money_of(ids), _lots(ids)
    records = {one.id: one for one in job_records({*for_job.values(), *(h for some in held.values() for h in some)})}
    for lot_id in ids:
        job = records.get(for_job.get(lot_id, 0))
        one = _judged(rows[lot_id], job, held[lot_id], money.get(lot_id), records)
        if one is not None:
            yield one


def _lots(ids: Sequence[int]) -> dict[int, Any]:
    return {one.id: one for one in Lot.select(Lot, Part).join(Part).where(Lot.id << list(ids))}


def _units(ids: Iterable[int]) -> dict[int, dict[int, int]]:
    """Return by lot who holds how many units, whether its cost is known or not."""
    held: dict[int, dict[int, int]] = {key: defaultdict(int) for key in ids}
    for line in lines_of(held):
        giver = holder(line)
        if giver is not None:
            held[line.lot_id][SHELF] += line.quantity
            held[line.lot_id][giver] -= line.quantity
    return {key: {who: units for who, units in some.items() if units > 0} for key, some in held.items()}


def _judged(
    lot: Any, job: JobRecord | None, held: dict[int, int], money: LotMoney | None, jobs: dict[int, JobRecord]
) -> InVain | None:
    """Return what of a lot was in vain; None when nothing was."""
    mine = 0 if job is None else job.id
    others = {
        who: units for who, units in held.items() if who not in (SUPPLIER, mine) or (who == SHELF and job is None)
    }
    if not others:
        return None
    fates = [one for who, units in others.items() for one in _fates(lot, who, units, money, jobs)]
    supplier = Supplier.get_or_none(Supplier.id == lot.supplier_id)
    costs = [one.cost_minor for one in fates]
    known = None not in costs
    part = read(PartRecord, lot.part)
    return InVain(
        read(LotRecord, lot), part, job, _why(lot, job, sum(others.values()), held.get(mine, 0)),
        supplier.name if supplier else "", sum(others.values()), sum(c or 0 for c in costs) if known else None,
        sum(one.cost_minor or 0 for one in fates if one.word in IDLE) if known else None, tuple(fates),
    )  # fmt: skip


def _why(lot: Any, job: JobRecord | None, number: int, used: int) -> str:
    if job is None:
        return f"Bought for no job; no job had used the part before, and none has used this in {GUESS_DAYS} days."
    has = f"which used {amount(used, lot.part)}" if used > 0 else "which used none of it"
    return f"Bought for job {job.number}, {has}: {amount(number, lot.part)} not needed there."


# ---- what became of it -----------------------------------------------------------------------------------


def _fates(
    lot: Any, who: int, units: int, money: LotMoney | None, jobs: dict[int, JobRecord]
) -> Iterator[Fate]:  # fmt: skip
    worth = None if money is None else money.money(who)
    if who == SHELF:
        yield from _split(_on_shelf(lot, units), worth)
    elif who == SCRAPPED:
        yield from _split(_scrapped(lot.id, units), worth)
    elif who == MISSING:
        yield Fate("missing at a count", units, worth)
    elif who == BENCH:
        yield Fate("used by the bench", units, worth)
    else:
        yield Fate("used by another job", units, worth, f"job {jobs[who].number}")


def _split(found: Sequence[tuple[str, int, str]], worth: int | None) -> Iterator[Fate]:
    costs = split(worth, [units for _, units, _ in found])
    for (word, units, told), cost in zip(found, costs, strict=True):
        yield Fate(word, units, cost, told)


def _on_shelf(lot: Any, units: int) -> list[tuple[str, int, str]]:
    spares = (
        Piece.select(Piece.id).where(Piece.lot == lot.id, Piece.spare, Piece.bin.is_null(False)).order_by(Piece.id)
    )
    seen = see([one.id for one in spares])
    proved = [one for one in seen if one.standing.word == "proved"]
    others = [one for one in seen if one.standing.word != "proved"]
    found = [
        ("became a proved spare", len(proved), _names(one.piece.shown_as for one in proved)),
        ("kept as a spare, not proved now", len(others), _names(one.piece.shown_as for one in others)),
        ("still lying there", units - len(seen), _names(_bins(lot.id)) if units > len(seen) else ""),
    ]
    return [one for one in found if one[1] > 0]


_PLACES = """
SELECT COALESCE(b.name, b.code) FROM balances s JOIN bins b ON b.id = s.bin_id WHERE s.lot_id = ? AND s.quantity > 0
UNION SELECT COALESCE(b.name, b.code) FROM pieces p JOIN bins b ON b.id = p.bin_id WHERE p.lot_id = ? AND NOT p.spare
ORDER BY 1
"""


def _bins(lot_id: int) -> list[str]:
    return [f"bin {name}" for (name,) in run(_PLACES, lot_id, lot_id).fetchall()]


def _scrapped(lot_id: int, units: int) -> list[tuple[str, int, str]]:
    lines = standing_lines(lot_id, "scrap")
    entries = {one.entry for one in SentBack.select(SentBack.entry).where(SentBack.lot == lot_id)}
    back = [one for one in lines if one.entry in entries]
    thrown = [one for one in lines if one not in back]
    went_back = min(units, -sum(one.quantity for one in back))
    found = [
        ("sent back", went_back, _names(one.reason for one in back)),
        ("scrapped", units - went_back, _names(one.reason for one in thrown)),
    ]
    return [one for one in found if one[1] > 0]


def _names(found: Iterable[str]) -> str:
    names = list(dict.fromkeys(found))
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
