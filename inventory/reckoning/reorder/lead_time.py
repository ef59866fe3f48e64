"""How long a delivery takes: what a supplier states, mixed with what the deliveries seen have taught.

A lead time is a chance for every whole day. The stated time counts as `prior_weight` deliveries spread as
a gamma distribution around it; each delivery seen adds one. Nothing is fitted and nothing is simulated.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammainc, gammainccinv

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

MAX_LEAD_DAYS = 3650
"""No lead time is believed to be longer than ten years; longer ones count as this."""


@dataclass(frozen=True)
class LeadTimeConstants:
    """What is assumed about lead times before any delivery has been seen (assumed values, settable)."""

    prior_weight: float = 2.0
    """The stated lead time counts as this many deliveries."""
    variation: float = 0.5
    """Standard deviation of the stated lead time, as a share of it."""
    tail: float = 1e-6
    """Chance cut off the long end of the gamma distribution; it is laid on the last day kept."""

    def __post_init__(self) -> None:
        """Raise ValueError when a constant is out of its range."""
        if not (self.prior_weight > 0 and self.variation > 0 and 0 < self.tail < 0.5):
            raise ValueError(
                "Lead time constants must be above 0, and the tail below 0.5: correct them in the settings."
            )


class LeadTimeDistribution(Protocol):
    """A distribution of waiting times: a chance for each of some numbers of days, per entry."""

    def chances(self, entries: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return days (D,) and their chances (len(entries), D); each row sums to 1."""
        ...

    def support(self) -> IntArray:
        """Return how many days `chances` would list for each entry on its own."""
        ...

    def mean_days(self) -> FloatArray:
        """Return the expected wait of each entry in days."""
        ...


@dataclass(frozen=True)
class FixedLeadTimes:
    """Waits given outright: the same days, with the same chances, for each of `entries` entries."""

    days: FloatArray
    weights: FloatArray
    entries: int = 1

    def chances(self, entries: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return the days and one row of chances per entry asked for."""
        return self.days, np.broadcast_to(self.weights, (len(entries), len(self.days)))

    def support(self) -> IntArray:
        """Return the number of days listed, for each entry."""
        return np.full(self.entries, len(self.days))

    def mean_days(self) -> FloatArray:
        """Return the expected wait of each entry in days."""
        return np.full(self.entries, float(self.days @ self.weights))


def fixed_lead_times(days: ArrayLike, weights: ArrayLike = (1.0,), entries: int = 1) -> FixedLeadTimes:
    """Make waits of known days and chances (scaled to sum to 1); raise ValueError when they are no distribution."""
    day = np.atleast_1d(np.asarray(days, float))
    weight = np.atleast_1d(np.asarray(weights, float))
    if day.shape != weight.shape or not np.all(day >= 0) or not np.all(weight >= 0) or not weight.sum() > 0:
        raise ValueError("Give as many weights as days, none of them negative, and at least one weight above 0.")
    return FixedLeadTimes(day, weight / weight.sum(), entries)


@dataclass(frozen=True)
class LearnedLeadTimes:
    """Lead times of several suppliers (or offers), one entry each, as `lead_times` makes them."""

    stated_days: FloatArray
    seen_entry: IntArray
    """Which entry each delivery seen belongs to, ascending."""
    seen_days: IntArray
    constants: LeadTimeConstants = field(default_factory=LeadTimeConstants)

    def deliveries(self) -> IntArray:
        """Count the deliveries seen of each entry."""
        return np.bincount(self.seen_entry, minlength=len(self.stated_days)).astype(np.int64)

    def support(self) -> IntArray:
        """Return one more than the last whole day that has a chance, for each entry."""
        last = _last_prior_day(self.stated_days, self.constants)
        np.maximum.at(last, self.seen_entry, self.seen_days)
        return last + 1

    def mean_days(self) -> FloatArray:
        """Return the expected lead time of each entry in days.

        The stated time is taken as its gamma distribution's mean, before rounding to whole days.
        """
        weight = self.constants.prior_weight
        days_seen = np.bincount(self.seen_entry, weights=self.seen_days, minlength=len(self.stated_days))
        mean: FloatArray = (weight * self.stated_days + days_seen) / (weight + self.deliveries())
        return mean

    def chances(self, entries: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return whole days 0..D-1 and, for each entry asked for, the chance of each of them."""
        distinct, row_of = np.unique(entries, return_inverse=True)
        width = int(self.support()[distinct].max(initial=1))
        stated, prior_of = np.unique(self.stated_days[distinct], return_inverse=True)
        table = self.constants.prior_weight * _prior_chances(stated, width, self.constants)[prior_of]
        start = np.searchsorted(self.seen_entry, distinct, "left")
        count = np.searchsorted(self.seen_entry, distinct, "right") - start
        row = np.repeat(np.arange(len(distinct)), count)
        delivery = np.arange(count.sum()) + np.repeat(start - (np.cumsum(count) - count), count)
        np.add.at(table, (row, self.seen_days[delivery]), 1.0)
        table /= (self.constants.prior_weight + count)[:, None]
        return np.arange(width, dtype=np.float64), table[row_of]


def learn_lead_times(
    stated_days: ArrayLike,
    seen_entry: ArrayLike = (),
    seen_days: ArrayLike = (),
    constants: LeadTimeConstants | None = None,
) -> LearnedLeadTimes:
    """Learn lead times: one entry per stated time, with the deliveries seen from each.

    stated_days: days, one per entry; below 0 counts as 0, above ten years as ten years.
    seen_entry, seen_days: one per delivery: which entry it taught, and whole days from order to receipt
    (clock skew below 0 counts as 0; parts of a day are rounded half up).
    Raises ValueError for a lead time that is no number and for a delivery of an unknown entry.
    """
    stated = np.atleast_1d(np.asarray(stated_days, float))
    entry = np.atleast_1d(np.asarray(seen_entry, np.int64))
    days = np.atleast_1d(np.asarray(seen_days, float))
    if np.isnan(stated).any() or np.isnan(days).any():
        raise ValueError("A lead time is missing: state it in days, 0 for the same day.")
    if entry.shape != days.shape or (len(entry) and not (entry.min() >= 0 and entry.max() < len(stated))):
        raise ValueError("Each delivery seen must name one of the entries that have a stated lead time.")
    whole_days = np.floor(np.clip(days, 0, MAX_LEAD_DAYS) + 0.5).astype(np.int64)
    order = np.argsort(entry, kind="stable")
    return LearnedLeadTimes(
        np.clip(stated, 0, MAX_LEAD_DAYS), entry[order], whole_days[order], constants or LeadTimeConstants()
    )


def quantile_days(chances: FloatArray, share: float) -> IntArray:
    """Return the first day by which `share` of deliveries are in, for each row of chances of days 0, 1, 2..."""
    enough = np.cumsum(chances, axis=1) >= share - 1e-12
    first: IntArray = np.argmax(enough, axis=1).astype(np.int64)
    return first


def _last_prior_day(stated: FloatArray, constants: LeadTimeConstants) -> IntArray:
    """Return the day on which the gamma distribution around each stated time is cut off."""
    shape = 1 / constants.variation**2
    reach = gammainccinv(shape, constants.tail) / shape
    last: IntArray = np.minimum(np.ceil(stated * reach), MAX_LEAD_DAYS).astype(np.int64)
    return last


def _prior_chances(stated: FloatArray, width: int, constants: LeadTimeConstants) -> FloatArray:
    """Spread each stated time over days 0..width-1: a day takes the gamma chance within half a day of it."""
    shape = 1 / constants.variation**2
    upper = np.arange(width) + 0.5
    # A stated time of 0 has all its chance on day 0; the tiny divisor gives exactly that.
    scale = np.maximum(stated, 1e-9)[:, None] / shape
    below = gammainc(shape, upper[None, :] / scale)
    below[np.arange(width) >= _last_prior_day(stated, constants)[:, None]] = 1.0
    chances: FloatArray = np.diff(below, axis=1, prepend=0.0)
    return chances
