"""What a part's history says about its demand: weights, shop averages, and the posterior of each part.

The idea in one line for the owner: each part's own jobs, with older ones counting half as much for every year that
has passed, plus four months' worth of the shop's average part.

Everything works on arrays with one entry per part. Letters are those of the documentation of the numbers:

    k   jobs that used the part, faded          T   length of its history in months, faded
    s   pieces beyond the first, faded          kz  jobs counted for size, faded
    m   jobs a month of the average part        e   extra pieces a job of the average part
    a,B shape and rate (months) of the part's own gamma-distributed rate of jobs
    c,d of the beta-distributed p in: pieces a job = 1 + NegBin(r, p)

`compound` turns a posterior into chances of demand, `promise` turns those into levels and risks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inventory.reckoning.common.durations import DAYS_PER_MONTH

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class DemandConstants:
    """The few numbers that are chosen rather than counted.

    Chosen in a backtest on the car parts set (Hyndman, Koehler, Ord and Snyder 2008); the last five are assumed.
    """

    pooling_months: float = 4.0
    """b: months of the shop's average part that are added to each part's own history."""
    size_prior: float = 4.0
    """c0: weight of the average job size; above 1."""
    size_shape: float = 2.0
    """r: shape of the negative binomial of extra pieces."""
    half_life_months: float = 12.0
    """Age at which an event counts half; infinity for no fading."""
    jobs_prior: float = 0.25
    """Jobs added to the shop's count, so that an empty shop has an average."""
    months_prior: float = 1.0
    """Months added to the shop's history."""
    extra_prior: float = 1.6
    """Extra pieces added to the shop's count."""
    sized_prior: float = 2.0
    """Jobs added to the shop's count of sized jobs."""
    kind_parts: int = 30
    """A kind of at least this many parts has averages of its own; below, it takes the shop's."""

    def __post_init__(self) -> None:
        """Raise ValueError when a constant is out of its range."""
        low = [f.name for f in fields(self) if not getattr(self, f.name) > 0]
        if low:
            raise ValueError(f"{low[0]} must be above 0: correct it in the settings.")
        if not self.size_prior > 1:
            raise ValueError("size_prior must be above 1: correct it in the settings.")

    @property
    def daily_fading(self) -> float:
        """Return how much of its weight an event keeps over one day."""
        return math.pow(2.0, -1.0 / (self.half_life_months * DAYS_PER_MONTH))


DEFAULT_CONSTANTS = DemandConstants()


@dataclass(frozen=True)
class EventHistory:
    """Dated jobs of many parts. The first four arrays have one entry per job and part, the last one per part.

    part: index of the part, 0 to parts - 1.
    age_days: days since the job used it; below 0 (clock skew) counts as today.
    pieces: net pieces used, at least 1.
    first_job: the job that caused the part to be catalogued: it tells a size, but no rate.
    one_off: not to be expected again: left out altogether.
    history_days: days since each part was catalogued.
    """

    part: IntArray
    age_days: FloatArray
    pieces: IntArray
    first_job: BoolArray
    one_off: BoolArray
    history_days: FloatArray


def event_history(
    part: ArrayLike,
    age_days: ArrayLike,
    pieces: ArrayLike,
    history_days: ArrayLike,
    first_job: ArrayLike = False,
    one_off: ArrayLike = False,
) -> EventHistory:
    """Gather dated jobs, and check them; raise ValueError for what cannot be counted."""
    index = np.atleast_1d(np.asarray(part, np.int64))
    since = np.atleast_1d(np.asarray(history_days, float))
    whole = np.atleast_1d(np.asarray(pieces, np.int64))
    age = np.atleast_1d(np.asarray(age_days, float))
    if not index.shape == whole.shape == age.shape:
        raise ValueError("Give one part, one age and one number of pieces for each job.")
    if np.any(index < 0) or np.any(index >= len(since)):
        raise ValueError("Each job must name one of the parts that have a length of history.")
    if np.any(whole < 1):
        raise ValueError("A job uses at least 1 piece: take off what was put back, then leave out jobs of 0.")
    if not (np.isfinite(age).all() and np.isfinite(since).all()):
        raise ValueError("A date is missing: give every job and every part its age in days.")
    flags = (np.broadcast_to(np.asarray(flag, bool), index.shape) for flag in (first_job, one_off))
    first, once = flags
    return EventHistory(index, np.maximum(age, 0), whole, first, once, np.maximum(since, 0))


@dataclass(frozen=True)
class DemandStatistics:
    """What is left of each part's history: four numbers a part. All that the formulas need."""

    k: FloatArray
    s: FloatArray
    kz: FloatArray
    T: FloatArray

    def take(self, rows: ArrayLike) -> DemandStatistics:
        """Return the statistics of some parts only."""
        index = np.atleast_1d(np.asarray(rows, np.int64))
        return DemandStatistics(self.k[index], self.s[index], self.kz[index], self.T[index])


def history_months(days: ArrayLike, constants: DemandConstants = DEFAULT_CONSTANTS) -> FloatArray:
    """Return T, the faded length in months of histories of so many days.

    One bucket a day, today's weighing 1: (1 - f^n) / (1 - f) days for n days and a daily fading of f.
    n need not be whole. 365 days at the default half-life are 8.660275 months.
    """
    count = np.atleast_1d(np.asarray(days, float))
    fading = constants.daily_fading
    if fading == 1.0:
        return count / DAYS_PER_MONTH
    months: FloatArray = np.expm1(count * math.log(fading)) / (fading - 1.0) / DAYS_PER_MONTH
    return months


def demand_statistics(events: EventHistory, constants: DemandConstants = DEFAULT_CONSTANTS) -> DemandStatistics:
    """Weigh each part's jobs by age, half for every half-life, and add them up.

    The first job counts for size only and history starts after it. A history is at least as long as the age of
    its oldest counted job (stock may have been entered with older jobs).
    """
    parts = len(events.history_days)
    sized = ~events.one_off
    rated = sized & ~events.first_job
    weight = constants.daily_fading**events.age_days

    def total(values: FloatArray) -> FloatArray:
        return np.bincount(events.part, weights=values, minlength=parts).astype(np.float64)

    since = events.history_days.copy()
    np.maximum.at(since, events.part[rated], events.age_days[rated])
    return DemandStatistics(
        k=total(weight * rated),
        s=total(weight * sized * (events.pieces - 1)),
        kz=total(weight * sized),
        T=history_months(since, constants),
    )


def age_statistics(
    stats: DemandStatistics, days: ArrayLike, constants: DemandConstants = DEFAULT_CONSTANTS
) -> DemandStatistics:
    """Bring statistics reckoned some days ago up to today, when nothing has happened to the parts since.

    Exactly what `statistics` would give today, as all weights fade alike. days: since then, one or one per part.
    """
    passed = np.maximum(np.asarray(days, float), 0)
    left = constants.daily_fading**passed
    months = stats.T * left + history_months(passed, constants)
    return DemandStatistics(stats.k * left, stats.s * left, stats.kz * left, months)


def monthly_statistics(
    months: ArrayLike, starts: ArrayLike = 0, constants: DemandConstants = DEFAULT_CONSTANTS
) -> DemandStatistics:
    """Weigh imported month totals: one row a part, one column a month, the newest last (it weighs 1).

    A month with use counts as one job. starts: the column where each part's history begins.
    """
    table = np.atleast_2d(np.asarray(months))
    count = table.shape[1]
    age = np.arange(count - 1, -1, -1)
    weight = 2.0 ** (-age / constants.half_life_months)
    known = np.arange(count) >= np.atleast_1d(np.asarray(starts))[:, None]
    used = (table > 0) & known
    k = (used * weight).sum(axis=1)
    s = (np.where(used, table - 1, 0) * weight).sum(axis=1)
    return DemandStatistics(k, s, k, np.broadcast_to((known * weight).sum(axis=1), k.shape))


@dataclass(frozen=True)
class DemandAverages:
    """The average part, as seen from each part: of its kind where the kind is large enough, else of the shop."""

    m: FloatArray
    e: FloatArray
    by_kind: BoolArray

    def take(self, rows: ArrayLike) -> DemandAverages:
        """Return the averages of some parts only."""
        index = np.atleast_1d(np.asarray(rows, np.int64))
        return DemandAverages(self.m[index], self.e[index], self.by_kind[index])


def shop_averages(
    stats: DemandStatistics, kinds: ArrayLike | None = None, constants: DemandConstants = DEFAULT_CONSTANTS
) -> DemandAverages:
    """Average all parts, those never used included: m jobs a month, e extra pieces a job.

    kinds: a small whole number per part naming its kind; None pools the whole shop.
    """
    parts = len(stats.k)
    kind = np.zeros(parts, np.int64) if kinds is None else np.asarray(kinds, np.int64)
    _, group, size = np.unique(kind, return_inverse=True, return_counts=True)
    large = np.zeros(len(size), bool) if kinds is None else size >= constants.kind_parts

    def pooled(values: FloatArray) -> FloatArray:
        own: FloatArray = np.where(large, np.bincount(group, values, minlength=len(size)), values.sum())
        return own

    m = (pooled(stats.k) + constants.jobs_prior) / (pooled(stats.T) + constants.months_prior)
    e = (pooled(stats.s) + constants.extra_prior) / (pooled(stats.kz) + constants.sized_prior)
    return DemandAverages(m[group], e[group], large[group])


@dataclass(frozen=True)
class DemandPosterior:
    """What is believed of each part: rate of jobs ~ Gamma(a, rate B months), p of the sizes ~ Beta(c, d)."""

    a: FloatArray
    B: FloatArray
    c: FloatArray
    d: FloatArray
    r: float = DEFAULT_CONSTANTS.size_shape

    def take(self, rows: ArrayLike) -> DemandPosterior:
        """Return the posterior of some parts only."""
        index = np.atleast_1d(np.asarray(rows, np.int64))
        return DemandPosterior(self.a[index], self.B[index], self.c[index], self.d[index], self.r)

    def jobs_per_month(self) -> FloatArray:
        """Return the expected rate of jobs."""
        return self.a / self.B

    def pieces_per_job(self) -> FloatArray:
        """Return the expected size of a job in pieces."""
        return 1 + self.r * self.d / (self.c - 1)

    def pieces_per_year(self) -> FloatArray:
        """Return the expected demand of a year in pieces."""
        return 12 * self.jobs_per_month() * self.pieces_per_job()


def demand_posterior(
    stats: DemandStatistics, averages: DemandAverages, constants: DemandConstants = DEFAULT_CONSTANTS
) -> DemandPosterior:
    """Add each part's own history to `pooling_months` of the average part."""
    b = constants.pooling_months
    c, d = _size_posterior(stats, averages, constants)
    return DemandPosterior(b * averages.m + stats.k, b + stats.T, c, d, constants.size_shape)


@dataclass(frozen=True)
class MonthlyPosterior:
    """What is believed of each part from month totals: chance of use in a month ~ Beta(alpha, beta)."""

    alpha: FloatArray
    beta: FloatArray
    c: FloatArray
    d: FloatArray
    r: float = DEFAULT_CONSTANTS.size_shape


def monthly_posterior(
    stats: DemandStatistics, averages: DemandAverages, constants: DemandConstants = DEFAULT_CONSTANTS
) -> MonthlyPosterior:
    """Add each part's months to `pooling_months` of the average part, for imported month totals."""
    b = constants.pooling_months
    c, d = _size_posterior(stats, averages, constants)
    alpha = b * averages.m + stats.k
    return MonthlyPosterior(alpha, b * (1 - averages.m) + stats.T - stats.k, c, d, constants.size_shape)


def _size_posterior(
    stats: DemandStatistics, averages: DemandAverages, constants: DemandConstants
) -> tuple[FloatArray, FloatArray]:
    """Return c and d; the prior Beta(c0, (c0 - 1) e / r) makes e extra pieces the expected size."""
    r, c0 = constants.size_shape, constants.size_prior
    return c0 + r * stats.kz, (c0 - 1) * averages.e / r + stats.s
