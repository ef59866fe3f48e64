"""Levels and risks: what to keep so that a promise holds, and how likely it is to break as things stand.

Two promises, named apart. *No stock-out before the next delivery*: all demand in the lead time (plus the time
between looks) is met. *The next job is served in full*: whatever else comes before it, the next job finds all the
pieces it wants. The second asks for more: at a level that keeps the first at 95 %, only some 70 to 80 % of jobs
are served in full.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from inventory.reckoning.common.durations import DAYS_PER_MONTH
from inventory.reckoning.reorder.compound_demand import (
    add_next_job,
    demand_chances,
    job_count_chances,
    month_count_chances,
)
from inventory.reckoning.reorder.demand import (
    BoolArray,
    DemandPosterior,
    FloatArray,
    IntArray,
    MonthlyPosterior,
)
from inventory.reckoning.reorder.lead_time import LeadTimeDistribution

MAX_LEVEL = 20_000
"""Levels are looked for up to here; a level of this size means "at least this", and its risk says so."""

MAX_TARGET = 1 - 1e-9
"""Targets closer to 1 than this count as this: no finite stock keeps a promise for certain."""

MIN_RISK = 1e-7
"""Risks below one in ten million are given as 0."""

_BLOCK_CELLS = 60_000
"""Numbers worked on at a time: what fits in a processor's cache. Bounds the memory, changes no result."""


class ServiceMeasure(StrEnum):
    """What a part's target is a share of."""

    NO_STOCK_OUT = "no_stock_out"
    NEXT_JOB = "next_job"


@dataclass(frozen=True)
class ProtectionInterval:
    """What each part's stock has to last for: its lead time and the time between looks.

    entry: which entry of `waits` each part waits for. looks_days: days between looks, 0 when looked at always.
    """

    waits: LeadTimeDistribution
    entry: IntArray
    looks_days: float = 0.0

    def take(self, rows: ArrayLike) -> ProtectionInterval:
        """Return the intervals of some parts only."""
        return ProtectionInterval(self.waits, self.entry[np.atleast_1d(np.asarray(rows, np.int64))], self.looks_days)

    def months(self, rows: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return the possible lengths (M,) in months, and the chances (rows, M) of some parts."""
        days, chances = self.waits.chances(self.entry[rows])
        return (days + self.looks_days) / DAYS_PER_MONTH, chances

    def mean_months(self) -> FloatArray:
        """Return the expected length for each part, in months."""
        months: FloatArray = (self.waits.mean_days()[self.entry] + self.looks_days) / DAYS_PER_MONTH
        return months


@dataclass(frozen=True)
class LevelAdvice:
    """What to keep of each part. For several targets the arrays have one column a target.

    level: S, the smallest stock position that keeps the promise at the target.
    kept, kept_below: chance that the promise is kept at position S, and at S - 1.
    risk: chance that the promise breaks at the position given (NaN where none was given).
    """

    level: IntArray
    kept: FloatArray
    kept_below: FloatArray
    risk: FloatArray

    @property
    def reorder_point(self) -> IntArray:
        """Return R = S - 1: order when the position is at or below it (-1 means never)."""
        return self.level - 1


def check_target(target: ArrayLike) -> FloatArray:
    """Return targets as numbers that can be reckoned with; raise ValueError unless all lie between 0 and 1."""
    share = np.asarray(target, float)
    if not np.all((share > 0) & (share < 1)):
        raise ValueError("A target must lie between 0 and 1, both left out: choose a share such as 0.95.")
    reachable: FloatArray = np.minimum(share, MAX_TARGET)
    return reachable


def advise_levels(
    post: DemandPosterior,
    interval: ProtectionInterval,
    target: ArrayLike,
    position: ArrayLike | None = None,
    next_job: ArrayLike = False,
) -> LevelAdvice:
    """Work out each part's level, and the risk at its present position.

    target: share of times the promise is to hold: one, or one per part.
    position: pieces on the shelf + on order - promised to jobs, per part.
    next_job: True for parts kept on "the next job is served in full", one flag or one per part.
    Raises ValueError for a target that is not between 0 and 1.
    """
    parts = len(post.a)
    targets = np.broadcast_to(check_target(target), (parts,))
    at = None if position is None else np.broadcast_to(np.asarray(position, np.int64), (parts,))
    flags = np.broadcast_to(np.asarray(next_job, bool), (parts,))
    level, kept = np.zeros(parts, np.int64), np.zeros((3, parts))
    for rows, flag in _part_blocks(post, interval, flags):
        columns = demand_distribution(post.take(rows), *interval.months(rows), next_job=flag)
        found = levels_from_distribution(columns, targets[rows, None], None if at is None else at[rows])
        level[rows] = found.level[:, 0]
        kept[:, rows] = found.kept[:, 0], found.kept_below[:, 0], found.risk
    return LevelAdvice(level, *kept)


def order_up_to_levels(
    post: DemandPosterior, interval: ProtectionInterval, target: ArrayLike, next_job: ArrayLike = False
) -> IntArray:
    """Return each part's level S: the smallest position that keeps the promise at the target."""
    return advise_levels(post, interval, target, next_job=next_job).level


def stock_out_risk(position: ArrayLike, post: DemandPosterior, interval: ProtectionInterval) -> FloatArray:
    """Return P(D > position) for each part: demand before the next delivery outruns what there is."""
    return advise_levels(post, interval, 0.5, position).risk


def monthly_levels(post: MonthlyPosterior, horizon: int, targets: ArrayLike) -> LevelAdvice:
    """Work out levels for the next `horizon` months from month totals, one column per target."""
    wanted = check_target(np.atleast_1d(targets))
    columns = demand_chances(month_count_chances(post.alpha, post.beta, horizon), post.c, post.d, post.r)
    return levels_from_distribution(columns, np.broadcast_to(wanted, (len(post.c), len(wanted))))


def demand_distribution(
    post: DemandPosterior, months: FloatArray, chances: FloatArray, next_job: bool = False
) -> Iterator[FloatArray]:
    """Yield P(D = 0), P(D = 1)... over an interval of the given lengths (M,) and chances (P, M).

    With next_job, D is the demand up to and with the next job: that a job comes makes busy parts likelier
    (shape a + 1), and its own pieces are added.
    """
    jobs = job_count_chances(post.a + next_job, post.B, months, chances)
    if next_job:
        jobs = add_next_job(jobs, len(post.a))
    return demand_chances(jobs, post.c, post.d, post.r)


def levels_from_distribution(
    columns: Iterator[FloatArray], targets: FloatArray, position: IntArray | None = None
) -> LevelAdvice:
    """Add up chances until every target (P, Q) is reached and every position (P,) is passed."""
    parts = len(targets)
    level = np.full(targets.shape, -1)
    kept, below = np.zeros(targets.shape), np.zeros(targets.shape)
    at = np.full(parts, -1) if position is None else position
    risk = np.full(parts, np.nan) if position is None else np.ones(parts)
    total = np.zeros(parts)
    for x, chance in enumerate(columns):
        before, total = total, total + chance
        hit = (level < 0) & ((total[:, None] >= targets) | (x == MAX_LEVEL))
        level[hit] = x
        kept = np.where(hit, total[:, None], kept)
        below = np.where(hit, before[:, None], below)
        left = np.where(1 - total < MIN_RISK, 0.0, 1 - total)
        risk = np.where(at >= x, left, risk)
        passed = (at <= x) | (left == 0) | (x == MAX_LEVEL)
        if passed.all() and (level >= 0).all():
            break
    return LevelAdvice(level, kept, below, risk)


def _part_blocks(
    post: DemandPosterior, interval: ProtectionInterval, flags: BoolArray
) -> Iterator[tuple[IntArray, bool]]:
    """Split the parts into blocks of like size, so that the work in a block is neither padded nor unbounded."""
    demand = interval.mean_months() * post.jobs_per_month() * post.pieces_per_job()
    width = interval.waits.support()[interval.entry]
    width_class = np.ceil(np.log2(width)).astype(np.int64)
    order = np.lexsort((demand, width_class, flags))
    cells = np.minimum(width + 4 * demand + 20, MAX_LEVEL)[order]
    key = np.column_stack((flags[order], width_class[order], np.cumsum(cells) // _BLOCK_CELLS))
    cuts = np.flatnonzero(np.any(np.diff(key, axis=0) != 0, axis=1)) + 1
    for rows in np.split(order, cuts):
        if len(rows):
            yield rows, bool(flags[rows[0]])
