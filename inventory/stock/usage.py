"""The use of parts over time, read from the ledger: what jobs took, less what was put back or undone.

One event is one job's net use of a part, dated by its first pull that stands; a pull for no job is an event of its
own. Of a part kept by level, a reading lower than the one before is use too. Pulls marked one-off are no use to be
expected again: what is put back is taken off them first. Scrapping, counting and moving are no use.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inventory.stock import clock
from inventory.stock.records_orders import StockOverTime, StockPoint, UseRecord
from inventory.stock.rules import row
from inventory.store.binding import run
from inventory.store.fields import from_micros, to_micros
from inventory.store.tables import Job, Part

IntArray = NDArray[np.int64]
_SOME = 500  # parts asked for in one statement


@dataclass(frozen=True)
class Uses:
    """Events of use, one entry each: the part, the job (below 0: none), microseconds since 1970, base units."""

    part_id: IntArray
    job_id: IntArray
    at: IntArray
    quantity: IntArray

    def __len__(self) -> int:
        """Return the number of events."""
        return len(self.part_id)


# Who: the job, or for a pull without one the entry, below zero. A line that was undone counts for nothing.
_EVENTS = """
SELECT m.part_id, COALESCE(m.job_id, -m.entry),
       MIN(CASE WHEN m.kind <> 'put back' AND NOT m.one_off THEN m.at END),
       SUM(CASE WHEN m.kind <> 'put back' AND NOT m.one_off THEN -m.quantity ELSE 0 END),
       SUM(-m.quantity), MIN(m.at)
FROM movements m
WHERE (m.kind IN ('pull', 'put back')
       OR (m.kind = 'count' AND m.quantity < 0 AND m.part_id IN (SELECT id FROM parts WHERE kept = 'by level')))
  AND m.id NOT IN (SELECT reverses_id FROM movements WHERE reverses_id IS NOT NULL){only}
GROUP BY m.part_id, COALESCE(m.job_id, -m.entry)
HAVING SUM(-m.quantity) > 0{regular}
"""
_REGULAR = " AND SUM(CASE WHEN m.kind <> 'put back' AND NOT m.one_off THEN -m.quantity ELSE 0 END) > 0"


def uses(part_ids: Iterable[int] | None = None) -> Uses:
    """Return the events that count towards what is to be expected, of some parts (None: of all)."""
    part, job, at, regular, net, _ = np.array(_events(part_ids, _REGULAR), np.int64).reshape(-1, 6).T
    return Uses(part, job, at, np.minimum(regular, net))


def uses_of(part_id: int, limit: int = 200) -> list[UseRecord]:
    """Return the newest uses of one part, newest first, one-off use included."""
    part = row(Part, part_id, "part")
    rows = sorted(_events([part_id]), key=lambda one: (one[2] or one[5], one[1]), reverse=True)[:limit]
    jobs = Job.select(Job.id, Job.number).where(Job.id.in_([one[1] for one in rows if one[1] > 0]))
    numbers = {job.id: job.number for job in jobs}
    return [_record(one, numbers, part.catalogued_for_id) for one in rows]


def _record(one: Sequence[Any], numbers: dict[int, str], first_job_id: int | None) -> UseRecord:
    _, who, at, regular, net, first = one
    job = int(who) if who > 0 else None
    return UseRecord(
        at=from_micros(int(first if at is None else at)), quantity=int(net), job_id=job,
        job_number="" if job is None else numbers.get(job, ""), first_job=job is not None and job == first_job_id,
        one_off=not regular, counted=int(min(regular, net)),
    )  # fmt: skip


def _events(part_ids: Iterable[int] | None, regular: str = "") -> list[Any]:
    if part_ids is None:
        return list(run(_EVENTS.format(only="", regular=regular)).fetchall())
    wanted = list(part_ids)
    found: list[Any] = []
    for start in range(0, len(wanted), _SOME):
        some = wanted[start : start + _SOME]
        only = f" AND m.part_id IN ({', '.join('?' * len(some))})"
        found += run(_EVENTS.format(only=only, regular=regular), *some).fetchall()
    return found


# ---- stock over time -------------------------------------------------------------------------------------


def stock_over_time(part_id: int, days: int = 540) -> StockOverTime:
    """Return what was on the books of a part over the last *days*, stock on hold and spares included.

    One point for all that one kind of movement did at one moment; moves within the shop change nothing.
    """
    row(Part, part_id, "part")
    since = clock.now() - timedelta(days=days)
    before = run(
        "SELECT COALESCE(SUM(quantity), 0) FROM movements WHERE part_id = ? AND at < ?", part_id, to_micros(since)
    ).fetchone()[0]
    changes = run(
        "SELECT at, kind, SUM(quantity) FROM movements WHERE part_id = ? AND at >= ? GROUP BY at, kind"
        " HAVING SUM(quantity) <> 0 ORDER BY at, kind",
        part_id, to_micros(since),
    ).fetchall()  # fmt: skip
    return StockOverTime(since, int(before), tuple(_points(int(before), changes)))


def _points(on_books: int, changes: Iterable[Any]) -> Iterable[StockPoint]:
    for at, kind, change in changes:
        on_books += int(change)
        yield StockPoint(from_micros(int(at)), str(kind), int(change), on_books)
