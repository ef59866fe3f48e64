"""Try the advice on the past: would the promise have held?

At each origin only the months before it are known. Every method sets its levels from them, and the demand of the
following months is held against those levels. Origins roll through the table, so each part is tried many times.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inventory.lab.textbook import METHODS, MonthHistory, smallest_level
from inventory.reckoning.reorder.demand import (
    DEFAULT_CONSTANTS,
    BoolArray,
    DemandConstants,
    FloatArray,
    IntArray,
    monthly_posterior,
    monthly_statistics,
    shop_averages,
)
from inventory.reckoning.reorder.service_level import check_target, monthly_levels

OUR_METHOD = "this"

LevelMethod = Callable[[BoolArray, int, int, FloatArray], tuple[FloatArray, FloatArray, FloatArray]]
"""Our levels from more than month totals: from (which parts, months known, horizon, targets) to levels (P, Q), and
the chances stated at the level and one below."""

ProgressCallback = Callable[[int, int], None]
"""Told (steps done, steps in all) after each step."""


class TooFewMonths(ValueError):
    """The table is too short; the message says how long it must be."""


@dataclass(frozen=True)
class BacktestScore:
    """How one method fared at one target, over all parts and origins.

    achieved: share of cases in which demand stayed within the level. Compare it with the target.
    stated: the share the method itself expected at its (whole) levels.
    exact: achieved share when the level is drawn between S - 1 and S so that the stated share is the target.
    mean_level: pieces kept, on average. levels_sum: the same, added up over all cases.
    """

    method: str
    target: float
    cases: int
    achieved: float
    stated: float
    exact: float
    mean_level: float
    levels_sum: int


@dataclass(frozen=True)
class ForecastOrigin:
    """What was known of the shop at one origin: months of history, averages m and e, faded history T."""

    months: int
    parts: int
    m: float
    e: float
    T: float


@dataclass(frozen=True)
class Backtest:
    """The outcome: one score per method and target, and what the origins looked like."""

    horizon: int
    scores: tuple[BacktestScore, ...]
    origins: tuple[ForecastOrigin, ...]

    def score(self, method: str, target: float) -> BacktestScore:
        """Return one method's score at one target; raise KeyError when it was not tried."""
        for score in self.scores:
            if score.method == method and score.target == target:
                return score
        raise KeyError((method, target))

    def level_for(self, method: str, share: float) -> float | None:
        """Return the mean level at which a method achieves a share, between the targets tried; None outside them.

        Compares methods fairly: a method that keeps more achieves more.
        """
        tried = sorted((s.achieved, s.mean_level) for s in self.scores if s.method == method)
        achieved, level = [a for a, _ in tried], [mean for _, mean in tried]
        if not achieved or not achieved[0] <= share <= achieved[-1]:
            return None
        return float(np.interp(share, achieved, level))


def backtest(
    pieces: ArrayLike,
    targets: Sequence[float] = (0.90, 0.95, 0.98),
    *,
    starts: ArrayLike = 0,
    horizon: int = 3,
    first_origin: int = 24,
    step: int = 3,
    methods: Sequence[str] = (OUR_METHOD, *METHODS),
    constants: DemandConstants = DEFAULT_CONSTANTS,
    our_method: LevelMethod | None = None,
    progress: ProgressCallback | None = None,
) -> Backtest:
    """Try methods on month totals: parts x months, whole pieces, oldest month first.

    starts: the column where each part's history begins. A part is tried at the origins from there on.
    horizon: months that a level has to last. Origins: after `first_origin` months, then every `step`.
    ours: how our own levels are worked out (left out: from the month totals, as all methods work theirs out).
    Raises NothingToTry when the table is too short, ValueError when a target is not between 0 and 1.
    """
    table = np.atleast_2d(np.asarray(pieces, np.int64))
    start = np.broadcast_to(np.asarray(starts, np.int64), (len(table),))
    shares = np.atleast_1d(check_target(targets))
    months = list(range(first_origin, table.shape[1] - horizon + 1, step))
    if not months or not len(table) or horizon < 1 or first_origin < 1:
        raise TooFewMonths(
            f"There is nothing to try: {first_origin} months to learn from and {horizon} to test on need a "
            f"table of at least {first_origin + horizon} months, and one part."
        )
    tally = {method: np.zeros((5, len(shares))) for method in methods}
    origins, done = [], 0
    for month in months:
        rows = start <= month
        known = MonthHistory(table[rows, :month], start[rows])
        demand = table[rows, month : month + horizon].sum(axis=1)
        origins.append(_describe_origin(known, constants))
        for method in methods:
            levels = (
                our_method(rows, month, horizon, shares)
                if our_method and method == OUR_METHOD
                else _method_levels(method, known, horizon, shares, constants)
            )
            tally[method] += _count_cases(demand, shares, *levels)
            done += 1
            if progress:
                progress(done, len(months) * len(methods))
    return Backtest(horizon, tuple(_score_rows(tally, targets)), tuple(origins))


def _method_levels(
    method: str, known: MonthHistory, horizon: int, targets: FloatArray, constants: DemandConstants
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return one method's levels (P, Q), and the chances it states at the level and one below."""
    if method == OUR_METHOD:
        stats = monthly_statistics(known.pieces, known.starts, constants)
        advice = monthly_levels(
            monthly_posterior(stats, shop_averages(stats, constants=constants), constants), horizon, targets
        )
        return advice.level.astype(float), advice.kept, advice.kept_below
    shares = np.broadcast_to(targets, (len(known.pieces), len(targets)))
    return smallest_level(METHODS[method](known, horizon), shares)


def _count_cases(
    demand: IntArray, targets: FloatArray, level: FloatArray, stated: FloatArray, below: FloatArray
) -> FloatArray:
    """Add up, per target: cases, cases kept, stated chances, target-exact cases, levels."""
    held = demand[:, None] <= level
    held_below = demand[:, None] <= level - 1
    upper = np.clip((targets - below) / np.maximum(stated - below, 1e-300), 0, 1)
    exact = upper * held + (1 - upper) * held_below
    cases = np.full(targets.shape, float(len(demand)))
    return np.array([cases, *(values.sum(axis=0) for values in (held, stated, exact, level))])


def _score_rows(tally: dict[str, FloatArray], targets: Sequence[float]) -> Iterator[BacktestScore]:
    for method, sums in tally.items():
        for target, (cases, held, stated, exact, level) in zip(targets, sums.T, strict=True):
            yield BacktestScore(
                method=method,
                target=target,
                cases=int(cases),
                achieved=float(held / cases),
                stated=float(stated / cases),
                exact=float(exact / cases),
                mean_level=float(level / cases),
                levels_sum=round(level),
            )


def _describe_origin(known: MonthHistory, constants: DemandConstants) -> ForecastOrigin:
    stats = monthly_statistics(known.pieces, known.starts, constants)
    averages = shop_averages(stats, constants=constants)
    return ForecastOrigin(
        months=known.pieces.shape[1],
        parts=len(known.pieces),
        m=float(averages.m[0]),
        e=float(averages.e[0]),
        T=float(stats.T.max()),
    )
