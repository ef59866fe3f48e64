"""The use of parts over time, read from the ledger: what jobs took, less what was put back or undone.

One event is one job's net use of a part, dated by its first pull that stands; a pull for no job is an event of its
own. Of a part kept by level, a reading lower than the one before is use too. Pulls marked one-off are no use to be
expected again: what is put back is taken off them first. Scrapping, counting and moving are no use. What stood in for
another part is use of the part that was asked for, not of its own: else running out would hide demand.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inventory.domain.buying.order_records import StockOverTime, StockPoint, UseRecord
from inventory.domain.common import clock
from inventory.domain.common.validation import get_row
from inventory.domain.jobs.fitted_substitutes import fitted_substitutes
from inventory.store.connection import execute, run_for
from inventory.store.fields import from_micros, to_micros
from inventory.store.job_use import USE
from inventory.store.tables import Job, Part

IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class UseEvents:
    """Events of use, one entry each: the part, the job (below 0: none), microseconds since 1970, base units."""

    part_id: IntArray
    job_id: IntArray
    at: IntArray
    quantity: IntArray

    def __len__(self) -> int:
        """Return the number of events."""
        return len(self.part_id)


WENT = f"""
(m.kind IN {USE}
  OR (m.kind = 'count' AND m.quantity < 0 AND m.part_id IN (SELECT id FROM parts WHERE kept = 'by level')))
  AND m.id NOT IN (SELECT reverses_id FROM movements WHERE reverses_id IS NOT NULL)
"""
"""Whether a line ``m`` counts as use: taken or put back, or gone by a reading of a level, and not undone."""

# The second column: the job, or for a pull without one the entry, below zero. Undone lines do not count.
_LINES = f"""
SELECT m.part_id, COALESCE(m.job_id, -m.entry), m.at, -m.quantity,
       CASE WHEN m.kind <> 'put back' AND NOT m.one_off THEN 1 ELSE 0 END, m.entry
FROM movements m
WHERE {WENT}
"""


@dataclass(frozen=True)
class _JobUses:
    """What each job used of each part: all of it on balance, and what of it was regular. In order of part and job."""

    part_id: IntArray
    job_id: IntArray
    at: IntArray  # of the first regular pull; of one-off use, of its first line
    regular: IntArray
    net: IntArray

    def take(self, rows: NDArray[Any]) -> _JobUses:
        """Return some of them."""
        return _JobUses(*(column[rows] for column in (self.part_id, self.job_id, self.at, self.regular, self.net)))


def use_events(part_ids: Iterable[int] | None = None) -> UseEvents:
    """Return the events that count towards what is to be expected, of some parts (None: of all)."""
    uses = _job_uses(None if part_ids is None else list(part_ids))
    counted = uses.take(uses.regular > 0)
    return UseEvents(counted.part_id, counted.job_id, counted.at, np.minimum(counted.regular, counted.net))


def uses_of_part(part_id: int, limit: int = 200) -> list[UseRecord]:
    """Return the newest uses of one part, newest first, one-off use included."""
    part = get_row(Part, part_id, "part")
    uses = _job_uses([part_id])
    newest = uses.take(np.lexsort((-uses.job_id, -uses.at))[:limit])
    jobs = Job.select(Job.id, Job.number).where(
        Job.id.in_([job_id for job_id in newest.job_id.tolist() if job_id > 0])
    )
    numbers = {job.id: job.number for job in jobs}
    columns = (newest.job_id.tolist(), newest.at.tolist(), newest.regular.tolist(), newest.net.tolist())
    return [_record(*row, numbers, part.catalogued_for_id) for row in zip(*columns, strict=True)]


def _record(
    job_id: int, at: int, regular: int, net: int, numbers: dict[int, str], first_job_id: int | None
) -> UseRecord:  # fmt: skip
    job = job_id if job_id > 0 else None
    return UseRecord(
        at=from_micros(at), quantity=net, job_id=job, job_number="" if job is None else numbers.get(job, ""),
        first_job=job is not None and job == first_job_id, one_off=not regular, counted=min(regular, net),
    )  # fmt: skip


def _job_uses(part_ids: list[int] | None) -> _JobUses:
    """Add up the lines of each part and job; what was all put back is no use."""
    lines = np.array(_credit_requested_part(_movement_lines(part_ids), part_ids), np.int64).reshape(-1, 6)[:, :5]
    part, job_id, at, quantity, regular = lines[np.lexsort((lines[:, 2], lines[:, 1], lines[:, 0]))].T
    first = np.flatnonzero(np.append(True, (part[1:] != part[:-1]) | (job_id[1:] != job_id[:-1]))[: len(part)])
    if not len(first):
        return _JobUses(*(np.empty(0, np.int64) for _ in range(5)))
    taken = np.add.reduceat(np.where(regular, quantity, 0), first)
    since = np.minimum.reduceat(np.where(regular, at, np.iinfo(np.int64).max), first)
    net = np.add.reduceat(quantity, first)
    uses = _JobUses(part[first], job_id[first], np.where(taken > 0, since, at[first]), taken, net)
    return uses.take(net > 0)


def _credit_requested_part(lines: list[Any], part_ids: Iterable[int] | None) -> list[Any]:
    """Count what stood in for another part as use of that one, as far as it was not put back."""
    substitutes = fitted_substitutes()
    if not substitutes:
        return lines
    requested = None if part_ids is None else set(part_ids)
    entries = {use.entry for use in substitutes}
    credited = [line for line in lines if line[5] not in entries]
    for use in substitutes:
        put_back = use.quantity - use.kept
        if put_back and (requested is None or use.instead_id in requested):  # put back as the part that it is
            credited.append((use.instead_id, use.job_id, use.at, put_back, 0, use.entry))
        if use.kept and (requested is None or use.part_id in requested):
            credited.append((use.part_id, use.job_id, use.at, use.kept, int(not use.one_off), use.entry))
    return credited


def _movement_lines(part_ids: Iterable[int] | None) -> list[Any]:
    if part_ids is None:
        return list(execute(_LINES).fetchall())
    return list(run_for(f"{_LINES} AND m.part_id IN ({{ids}})", part_ids))


# ---- stock over time -------------------------------------------------------------------------------------


def stock_over_time(part_id: int, days: int = 540) -> StockOverTime:
    """Return the booked quantity of a part over the last *days*, stock on hold and spares included.

    One point for all that one kind of movement did at one moment; moves within the shop change nothing.
    """
    get_row(Part, part_id, "part")
    since = clock.now() - timedelta(days=days)
    before = execute(
        "SELECT COALESCE(SUM(quantity), 0) FROM movements WHERE part_id = ? AND at < ?", part_id, to_micros(since)
    ).fetchone()[0]
    changes = execute(
        "SELECT at, kind, SUM(quantity) FROM movements WHERE part_id = ? AND at >= ? GROUP BY at, kind"
        " HAVING SUM(quantity) <> 0 ORDER BY at, kind",
        part_id, to_micros(since),
    ).fetchall()  # fmt: skip
    return StockOverTime(since, int(before), tuple(_stock_points(int(before), changes)))


def kinds_of_use(kept_by: str) -> tuple[str, ...]:
    """Return the kinds of movement that are use of a part, by how it is kept: by level, readings are."""
    return (*USE, "count") if kept_by == "by level" else USE


def _stock_points(on_books: int, changes: Iterable[Any]) -> Iterable[StockPoint]:
    for at, kind, change in changes:
        on_books += int(change)
        yield StockPoint(from_micros(int(at)), str(kind), int(change), on_books)
