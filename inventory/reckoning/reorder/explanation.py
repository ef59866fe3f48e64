"""One part's advice with every number it was worked out from, by name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from inventory.reckoning.common.time_units import DAYS_PER_MONTH
from inventory.reckoning.reorder.compound_demand import job_count_chances
from inventory.reckoning.reorder.demand import DemandAverages, DemandPosterior, DemandStatistics, FloatArray
from inventory.reckoning.reorder.service_level import (
    ProtectionInterval,
    advise_levels,
    check_target,
    demand_distribution,
)

MAX_LISTED_PIECES = 2_000
"""A spread is listed up to this many pieces; what is left beyond is the difference of its sum from 1."""


@dataclass(frozen=True)
class LevelExplanation:
    """Everything behind one part's advice; `demand` spells out what the letters mean.

    days, day_chances: how long the stock has to last (lead time), and how likely each is.
    looks_days: days between looks, on top of the lead time. months: expected total, in months.
    jobs, pieces: chances of 0, 1, 2... jobs and pieces before the next delivery.
    next_job_pieces: the same up to and with the next job.
    level, reorder_point: by the part's own promise; level_no_stock_out, level_next_job: by each.
    risk_of_running_dry: P(pieces > position). risk_next_job: chance that the next job is not served in full.
    """

    k: float
    s: float
    kz: float
    T: float
    m: float
    e: float
    by_kind: bool
    a: float
    B: float
    c: float
    d: float
    r: float
    days: FloatArray
    day_chances: FloatArray
    looks_days: float
    months: float
    jobs: FloatArray
    pieces: FloatArray
    next_job_pieces: FloatArray
    jobs_per_month: float
    pieces_per_job: float
    pieces_per_year: float
    target: float
    next_job: bool
    position: int
    level: int
    reorder_point: int
    level_no_stock_out: int
    level_next_job: int
    risk_of_running_dry: float
    risk_next_job: float

    @property
    def cumulative(self) -> FloatArray:
        """Return P(pieces <= 0), P(pieces <= 1)... before the next delivery."""
        return np.cumsum(self.pieces)

    @property
    def interval_days(self) -> float:
        """Return the expected days until the next delivery is in: lead time and time between looks."""
        return self.months * DAYS_PER_MONTH


def explain_level(
    stats: DemandStatistics,
    averages: DemandAverages,
    post: DemandPosterior,
    interval: ProtectionInterval,
    row: int,
    target: float,
    position: int = 0,
    next_job: bool = False,
    tail: float = 1e-4,
) -> LevelExplanation:
    """Explain the advice for the part in one row of the arrays.

    tail: spreads are listed until less chance than this is left (and at least as far as both levels).
    Raises ValueError for a target that is not between 0 and 1.
    """
    check_target(target)
    posterior, wait = post.take(row), interval.take(row)
    months, chances = wait.months(np.array([0]))
    advices = [
        advise_levels(posterior, wait, target, position, next_job=by_next_job) for by_next_job in (False, True)
    ]
    levels = [int(advice.level[0]) for advice in advices]
    spreads = [
        _listed_chances(demand_distribution(posterior, months, chances, by_next_job), tail, levels[by_next_job])
        for by_next_job in (False, True)
    ]
    days, day_chances = interval.waits.chances(wait.entry)
    return LevelExplanation(
        **{name: float(getattr(stats, name)[row]) for name in ("k", "s", "kz", "T")},
        **{name: float(getattr(averages, name)[row]) for name in ("m", "e")},
        **{name: float(getattr(posterior, name)[0]) for name in ("a", "B", "c", "d")},
        by_kind=bool(averages.by_kind[row]),
        r=posterior.r,
        days=days,
        day_chances=day_chances[0],
        looks_days=interval.looks_days,
        months=float(wait.mean_months()[0]),
        jobs=_listed_chances(job_count_chances(posterior.a, posterior.B, months, chances), tail, 0),
        pieces=spreads[False],
        next_job_pieces=spreads[True],
        jobs_per_month=float(posterior.jobs_per_month()[0]),
        pieces_per_job=float(posterior.pieces_per_job()[0]),
        pieces_per_year=float(posterior.pieces_per_year()[0]),
        target=target,
        next_job=next_job,
        position=position,
        level=levels[next_job],
        reorder_point=levels[next_job] - 1,
        level_no_stock_out=levels[False],
        level_next_job=levels[True],
        risk_of_running_dry=float(advices[False].risk[0]),
        risk_next_job=float(advices[True].risk[0]),
    )


def _listed_chances(columns: Iterator[FloatArray], tail: float, at_least: int) -> FloatArray:
    """List one part's chances until less than `tail` is left."""
    chances: list[float] = []
    left = 1.0
    for column in columns:
        chances.append(float(column[0]))
        left -= chances[-1]
        if (left < tail and len(chances) > at_least) or len(chances) > MAX_LISTED_PIECES:
            break
    return np.array(chances)
