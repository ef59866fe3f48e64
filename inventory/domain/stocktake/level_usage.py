"""What of bottles and reels went into which job.

What went between two readings of a lot is shared by the jobs that took something in that time, and did not undo
it; with none, it was the bench's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.domain.catalogue.lot_costs import cost_of_line, split_cost
from inventory.domain.catalogue.lots import lot
from inventory.domain.common.records import LotRecord, PartRecord, from_row
from inventory.domain.quality.trace import trace_job
from inventory.domain.quality.trace_records import JobTrace
from inventory.domain.stocktake.level_readings import unreversed_readings
from inventory.reckoning.common.apportion import apportion_units
from inventory.store.connection import execute
from inventory.store.fields import from_micros, to_micros
from inventory.store.job_use import STANDS
from inventory.store.tables import LevelReading

_PULLS = f"FROM movements m WHERE m.kind = 'pull' AND {STANDS}"
_JOBS_BETWEEN = (
    f"SELECT DISTINCT m.job_id {_PULLS} AND m.job_id IS NOT NULL AND m.at > ? AND m.at <= ? ORDER BY m.job_id"
)


@dataclass(frozen=True)
class LevelShare:
    """A job's share of what went of a lot between two readings."""

    part: PartRecord
    lot: LotRecord
    amount: int
    cost_minor: int | None
    since: datetime
    until: datetime
    jobs: int  # how many shared it


def level_shares_of_job(job_id: int) -> list[LevelShare]:
    """Return a job's shares of what went of bottles and reels while it was worked on, newest first."""
    (first,) = execute(f"SELECT MIN(m.at) {_PULLS} AND m.job_id = ?", job_id).fetchone()
    if first is None:
        return []
    later = LevelReading.at >= from_micros(int(first))
    shares = (
        _job_share(reading, job_id)
        for reading in unreversed_readings(later & (LevelReading.before > LevelReading.amount))
    )
    return [share for share in shares if share is not None and share.amount]


def _job_share(reading: Any, job_id: int) -> LevelShare | None:
    since = _previous_reading_time(reading)
    jobs, amounts, costs = _split_reading(reading, since)
    if job_id not in jobs:
        return None
    place = jobs.index(job_id)
    return LevelShare(
        from_row(PartRecord, reading.lot.part),
        lot(reading.lot_id),
        amounts[place],
        costs[place],
        since,
        reading.at,
        len(jobs),
    )


def _split_reading(reading: Any, since: datetime) -> tuple[list[int], list[int], list[int | None]]:
    """Return the jobs that shared what a reading says went, how much each got, and what that cost."""
    jobs = [int(key) for (key,) in execute(_JOBS_BETWEEN, to_micros(since), to_micros(reading.at)).fetchall()]
    amounts = list(split_evenly(reading.before - reading.amount, jobs).values())
    return jobs, amounts, split_cost(cost_of_line(reading.lot_id, reading.movement_id), amounts) if jobs else []


def level_costs_by_job() -> dict[int, list[int | None]]:
    """Return by job what its shares of bottles and reels cost, one entry a share (None: not known)."""
    costs_by_job: dict[int, list[int | None]] = {}
    for reading in unreversed_readings(LevelReading.before > LevelReading.amount):
        jobs, amounts, costs = _split_reading(reading, _previous_reading_time(reading))
        for job, number, cost in zip(jobs, amounts, costs, strict=True):
            if number:
                costs_by_job.setdefault(job, []).append(cost)
    return costs_by_job


def split_evenly(used: int, jobs: Sequence[int]) -> dict[int, int]:
    """Share out *used* base units evenly over jobs, in whole units that add up."""
    return dict(zip(jobs, apportion_units(used, [1.0] * len(jobs)), strict=True)) if jobs else {}


def _previous_reading_time(reading: Any) -> datetime:
    """Return when a lot was read before, or came in."""
    earlier: Iterable[Any] = LevelReading.select().where(
        LevelReading.lot == reading.lot_id, LevelReading.bin == reading.bin_id, LevelReading.id < reading.id
    ).order_by(LevelReading.id.desc()).limit(1)  # fmt: skip
    for previous in earlier:
        return previous.at  # type: ignore[no-any-return]
    return reading.lot.received  # type: ignore[no-any-return]


@dataclass(frozen=True)
class FullJobTrace:
    """What a job is made of, and its shares of bottles and reels."""

    trace: JobTrace
    shared: tuple[LevelShare, ...]

    @property
    def cost_minor(self) -> int:
        """What all of it cost, as far as it is known, in minor units."""
        return self.trace.cost_minor + sum(share.cost_minor or 0 for share in self.shared)


def full_job_trace(job_id: int) -> FullJobTrace:
    """Gather what a job is made of, its shares of what is kept by level included."""
    return FullJobTrace(trace_job(job_id), tuple(level_shares_of_job(job_id)))
