"""The exact sums: how many jobs in an interval, and how many pieces those jobs take.

Both are worked out value by value, 0, 1, 2..., for a block of parts at once, so that whoever reads them stops
as soon as it knows enough. Every sum is finite and nothing is cut off, save job counts whose total chance is
below 1e-15.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaln, gammaln

FloatArray = NDArray[np.float64]

NEGLIGIBLE = 1e-15
"""Total chance of the job counts that are no longer looked at."""

_TALL = 1e100
_LOG_TALL = math.log(_TALL)
_RESCALE_EVERY = 16


class _Climb:
    """An array of terms, each multiplied up from a first term that may be far too small for a float.

    The terms are `grown` times exp(`log_first`). A product starting below 1e-308 would stay 0 for ever; here the
    growth is kept apart and moved into the logarithm when it gets tall.
    """

    def __init__(self, log_first: FloatArray) -> None:
        self.log_first = log_first
        self.first: FloatArray = np.exp(log_first)
        self.grown: FloatArray = np.ones_like(log_first)
        self.steps = 0

    def multiply(self, ratio: FloatArray) -> None:
        """Multiply every term by a ratio of its own."""
        self.grown *= ratio
        self.steps += 1
        if self.steps % _RESCALE_EVERY == 0:
            self._rescale()

    def sum(self) -> FloatArray:
        """Add up the terms of each row."""
        total: FloatArray = np.einsum("pt,pt->p", self.grown, self.first)
        return total

    def append(self, log_first: FloatArray) -> None:
        """Add one term to each row."""
        self.log_first = np.column_stack((self.log_first, log_first))
        self.first = np.column_stack((self.first, np.exp(log_first)))
        self.grown = np.column_stack((self.grown, np.ones(len(log_first))))

    def _rescale(self) -> None:
        """Move tall growth into the logarithm, and drop growth too small to matter (and slow to handle)."""
        tall = self.grown > _TALL
        if tall.any():
            self.grown[tall] /= _TALL
            self.log_first[tall] += _LOG_TALL
            self.first[tall] = np.exp(self.log_first[tall])
        self.grown[self.grown < 1e-290] = 0.0


def jobs_in_interval(
    a: FloatArray, rate: FloatArray, months: FloatArray, weights: FloatArray
) -> Iterator[FloatArray]:
    """Yield P(N = 0), P(N = 1)... for the jobs of each part in an interval of uncertain length.

    a, rate (P,): the part's rate of jobs is Gamma(a, rate), rate in months.
    months (M,), weights (P, M): the interval's possible lengths, and for each part their chances.
    For one length: P(0) = (rate / (rate + L))^a; P(j + 1) = P(j) (a + j) / (j + 1) L / (rate + L); a negative
    binomial. Ends when what is left is negligible.
    """
    total = rate[:, None] + months
    share = months / total
    longest = share[:, -1] if np.all(np.diff(months) >= 0) else share.max(axis=1)
    with np.errstate(divide="ignore"):
        terms = _Climb(np.log(weights) + a[:, None] * np.log1p(-share))
    for job in itertools.count():
        chance = terms.sum()
        yield chance
        step = (a + job) / (job + 1)
        if _tail_is_negligible(chance, np.maximum(step, 1.0) * longest):
            return
        terms.multiply(share * step[:, None])


def jobs_in_months(alpha: FloatArray, beta: FloatArray, horizon: int) -> Iterator[FloatArray]:
    """Yield P(N = 0)...P(N = horizon) for the number of months with use among the next `horizon` months.

    alpha, beta (P,): the chance of use in a month is Beta(alpha, beta); the count is beta-binomial.
    """
    for job in range(horizon + 1):
        log_ways = math.log(math.comb(horizon, job))
        yield np.exp(log_ways + betaln(alpha + job, beta + horizon - job) - betaln(alpha, beta))


def pieces(jobs: Iterator[FloatArray], c: FloatArray, d: FloatArray, r: float) -> Iterator[FloatArray]:
    """Yield P(D = 0), P(D = 1)... for the pieces that a random number of jobs takes.

    jobs: yields P(N = 0), P(N = 1)... as arrays (P,).
    c, d (P,): pieces a job = 1 + NegBin(r, p) with p ~ Beta(c, d), the same p for all jobs of a part.
    P(D = x) = sum over K = 1..x of P(N = K) g_K(x - K), with g_K(y) the chance of y extra pieces in K jobs:
    g_K(0) = Be(c + rK, d) / Be(c, d); g_K(y + 1) = g_K(y) (rK + y)(d + y) / ((y + 1)(c + rK + d + y)).
    """
    yield next(jobs)
    log_none = gammaln(c + d) - gammaln(c)
    terms = _Climb(np.empty((len(c), 0)))
    shape = np.empty(0)  # rK for K = 1, 2...
    for x in itertools.count(1):
        terms.multiply(_ratio_of_one_more(shape, x, r, c, d))
        chance = next(jobs, None)
        if chance is not None:
            latest = r * (len(shape) + 1)
            shape = np.append(shape, latest)
            with np.errstate(divide="ignore"):
                log_chance = np.log(chance)
            terms.append(log_chance + gammaln(c + latest) - gammaln(c + d + latest) + log_none)
        yield terms.sum()


def with_next_job(jobs: Iterator[FloatArray], parts: int) -> Iterator[FloatArray]:
    """Count one job more: the next job itself, after those that come before it."""
    yield np.zeros(parts)
    yield from jobs


def _ratio_of_one_more(shape: FloatArray, x: int, r: float, c: FloatArray, d: FloatArray) -> FloatArray:
    """Return g_K(y + 1) / g_K(y) for K = 1, 2... at y = x - 1 - K, for each part."""
    extra = x - 2 - np.arange(len(shape))
    grow = (shape + extra) / (extra + 1)
    ratio: FloatArray = (d[:, None] + extra) / ((c + d)[:, None] + (shape + extra)) * grow
    return ratio


def _tail_is_negligible(chance: FloatArray, ratio: FloatArray) -> bool:
    """Tell whether all later terms, each at most `ratio` times the one before, add up to next to nothing."""
    return bool(np.all((ratio < 1) & (chance * ratio < NEGLIGIBLE * (1 - ratio))))
