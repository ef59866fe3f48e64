"""Four textbook ways to set a level from month totals, to hold our own against.

Each takes the months known so far and returns what it states about the demand of the next months as a function:
the chance that demand is at most x, for whole x. None is used for advice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import betainc, ndtr, pdtr

from inventory.reckoning.reorder.demand import BoolArray, FloatArray, IntArray

_BLOCK_CELLS = 200_000
"""How many chances the bootstrap works out at a time."""

StatedChances = Callable[[FloatArray], FloatArray]
"""From whole x (P, Q) to the stated chance that each part's demand is at most x, for x >= 0."""

CROSTON_SMOOTHING = 0.1
"""Smoothing constant of the sizes and of the gaps between them (usual in the literature: .05 to .2)."""

MIN_OVERDISPERSION = 1.05
"""Variance over mean below which the moments of a negative binomial are not used as they stand (assumed)."""

PSEUDO_COUNT = 1 / 3
"""Added to each count of the bootstrap's month-to-month changes, so that none is held impossible (assumed)."""


@dataclass(frozen=True)
class MonthHistory:
    """The months known at an origin: pieces (P, t), oldest first, and the column where each history starts."""

    pieces: IntArray
    starts: IntArray

    def counted(self) -> BoolArray:
        """Return which cells belong to a part's history."""
        return np.arange(self.pieces.shape[1]) >= self.starts[:, None]

    def mean_and_variance(self) -> tuple[FloatArray, FloatArray]:
        """Return mean and sample variance of each part's months (0 where there are too few)."""
        count = (self.pieces.shape[1] - self.starts).astype(float)
        total = (self.pieces * self.counted()).sum(axis=1)
        mean = total / np.maximum(count, 1)
        squares = (((self.pieces - mean[:, None]) * self.counted()) ** 2).sum(axis=1)
        return mean, squares / np.maximum(count - 1, 1)


def normal_croston(known: MonthHistory, horizon: int) -> StatedChances:
    """Take demand as normal around the bias-corrected Croston mean.

    Croston 1972, with the correction of Syntetos and Boylan 2005; spread of the months around that mean.
    """
    month = croston_mean(known, CROSTON_SMOOTHING)
    count = np.maximum(known.pieces.shape[1] - known.starts, 1)
    squares = (((known.pieces - month[:, None]) * known.counted()) ** 2).sum(axis=1)
    mean, spread = (month * horizon)[:, None], np.sqrt(squares / count * horizon)[:, None]

    def stated(x: FloatArray) -> FloatArray:
        chance: FloatArray = ndtr((x - mean) / np.maximum(spread, 1e-9))
        return np.where(spread > 0, chance, x >= mean)

    return stated


def poisson(known: MonthHistory, horizon: int) -> StatedChances:
    """Take demand as Poisson with the mean of the months."""
    mean = known.mean_and_variance()[0] * horizon

    def stated(x: FloatArray) -> FloatArray:
        return np.asarray(pdtr(x, mean[:, None]), np.float64)

    return stated


def negative_binomial(known: MonthHistory, horizon: int) -> StatedChances:
    """Take demand as negative binomial with the mean and variance of the months."""
    mean, variance = known.mean_and_variance()
    ratio = np.maximum(variance / np.maximum(mean, 1e-12), MIN_OVERDISPERSION)
    shape = np.maximum(mean * horizon / (ratio - 1), 1e-12)

    def stated(x: FloatArray) -> FloatArray:
        chance = np.asarray(betainc(shape[:, None], x + 1, 1 / ratio[:, None]), np.float64)
        return np.where(mean[:, None] > 0, chance, 1.0)

    return stated


def bootstrap(known: MonthHistory, horizon: int) -> StatedChances:
    """Resample the months as Willemain, Smart and Schwarz 2004 do, summed exactly instead of simulated.

    Months with and without use follow each other as a two-state Markov chain; a month with use takes one of the
    past sizes X, jittered to 1 + int(X + Z sqrt(X)) with Z standard normal, or X where that is not positive.
    Works on blocks of parts with sizes alike, so that the exact sums stay short.
    """
    largest = known.pieces.max(axis=1, initial=0)
    order = np.argsort(largest, kind="stable")
    cumulative: dict[int, FloatArray] = {}
    for rows in np.array_split(order, max(1, len(order) // 256)):
        block = MonthHistory(known.pieces[rows], known.starts[rows])
        cumulative.update(zip(rows.tolist(), _bootstrap_sums(block, horizon), strict=True))

    def stated(x: FloatArray) -> FloatArray:
        whole = x.astype(np.int64)
        return np.array(
            [
                sums[np.minimum(row, len(sums) - 1)]
                for row, sums in zip(whole, (cumulative[part] for part in range(len(whole))), strict=True)
            ]
        )

    return stated


METHODS: dict[str, Callable[[MonthHistory, int], StatedChances]] = {
    "normal, bias-corrected Croston mean": normal_croston,
    "Poisson": poisson,
    "negative binomial by moments": negative_binomial,
    "bootstrap (Willemain)": bootstrap,
}


def croston_mean(known: MonthHistory, smoothing: float) -> FloatArray:
    """Return the bias-corrected Croston forecast of a month: (1 - smoothing / 2) * size / gap; 0 if never used.

    Sizes of the months with use and the gaps between them are smoothed apart, each starting from the first seen.
    """
    parts, count = known.pieces.shape
    size, gap, since = np.zeros(parts), np.ones(parts), np.ones(parts)
    seen = np.zeros(parts, bool)
    for month in range(count):
        pieces = known.pieces[:, month]
        counted = known.starts <= month
        used = (pieces > 0) & counted
        weight = np.where(seen, smoothing, 1.0)
        size = np.where(used, size + weight * (pieces - size), size)
        gap = np.where(used, gap + weight * (since - gap), gap)
        seen |= used
        since = np.where(used | ~counted, 1.0, since + 1)
    forecast: FloatArray = np.where(seen, (1 - smoothing / 2) * size / gap, 0.0)
    return forecast


def smallest_level(stated: StatedChances, targets: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Find, for targets (P, Q), the smallest whole x >= 0 stated to be enough; return x and the chances at x, x - 1.

    The chance at -1 counts as 0. Doubles an upper bound, then halves the gap.
    """
    shares = targets - 1e-12  # sums of many chances miss a round target by their last digits
    high = np.ones(targets.shape)
    while np.any(short := stated(high) < shares):
        high[short] *= 2
    low = np.full(targets.shape, -1.0)
    while np.any(high - low > 1):
        middle = np.floor((low + high) / 2)
        enough = (middle >= 0) & (stated(np.maximum(middle, 0)) >= shares)
        high, low = np.where(enough, middle, high), np.where(enough, low, middle)
    below = np.where(high > 0, stated(np.maximum(high - 1, 0)), 0.0)
    return high, stated(high), below


def _bootstrap_sums(known: MonthHistory, horizon: int) -> FloatArray:
    """Return the cumulative chances of the sum of `horizon` resampled months, one row a part."""
    used = (known.pieces > 0) & known.counted()
    sizes = _jittered_size_chances(known.pieces, used)
    length = horizon * (sizes.shape[1] - 1) + 1
    wave = np.fft.rfft(sizes, length, axis=1)
    after_none, after_use = _use_transition_chances(used, known.counted())
    on = np.where(used[:, -1:], 1.0, 0.0) + 0 * wave if used.shape[1] else 0 * wave
    off = 1 - on
    for _ in range(horizon):
        on, off = (
            (on * after_use + off * after_none) * wave,
            on * (1 - after_use) + off * (1 - after_none),
        )
    sums = np.fft.irfft(on + off, length, axis=1).cumsum(axis=1)
    needed = 1 + int(np.argmax(np.all(sums > 1 - 1e-11, axis=0)))
    sums_needed: FloatArray = np.minimum(sums[:, :needed], 1.0)
    return sums_needed


def _use_transition_chances(used: BoolArray, counted: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Return the chance (P, 1) that a month has use after one without, and after one with."""
    before, after, both = used[:, :-1], used[:, 1:], counted[:, :-1]

    def chance(state: BoolArray) -> FloatArray:
        into = (state & after & both).sum(axis=1) + PSEUDO_COUNT
        share: FloatArray = into / ((state & both).sum(axis=1) + 2 * PSEUDO_COUNT)
        return np.where(used.any(axis=1), share, 0.0)[:, None]

    return chance(~before), chance(before)


def _jittered_size_chances(pieces: IntArray, used: BoolArray) -> FloatArray:
    """Return each part's chances of a size 0, 1, 2... in a month with use: its past sizes, each jittered."""
    rows, _ = np.nonzero(used)
    size, which = np.unique(pieces[used], return_inverse=True)
    share = np.zeros((len(pieces), len(size)))
    np.add.at(share, (rows, which), 1.0)
    share /= np.maximum(used.sum(axis=1), 1)[:, None]
    top = int(size.max(initial=1))
    y = np.arange(top + int(9 * np.sqrt(top)) + 3)
    root = np.sqrt(size)[:, None]
    jitter = ndtr((y - size[:, None]) / root) - ndtr((y - 1 - size[:, None]) / root)
    # int() cuts towards zero, so everything from -1 to 1 becomes 0, and the size 1.
    jitter[:, 1] = ndtr((1 - size) / root[:, 0]) - ndtr((-1 - size) / root[:, 0])
    jitter[:, 0] = 0.0
    jitter[np.arange(len(size)), size] += 1 - jitter.sum(axis=1)
    mixed: FloatArray = share @ jitter
    return mixed
