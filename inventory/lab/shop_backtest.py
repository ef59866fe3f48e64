"""Trying the advice on the past: a file of month totals, or the shop's own history, against textbook methods."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from inventory.domain.common.errors import Invalid
from inventory.domain.common.shop import shop_config
from inventory.domain.reorder.usage_totals import use_history
from inventory.lab.backtest import (
    OUR_METHOD,
    Backtest,
    BacktestScore,
    LevelMethod,
    ProgressCallback,
    TooFewMonths,
    backtest,
)
from inventory.lab.dated_backtest import DatedLevelMethod
from inventory.lab.month_totals import MonthTable, MonthTableError, month_table_from_events, read_month_table
from inventory.lab.textbook import METHODS
from inventory.reckoning.reorder.demand import DEFAULT_CONSTANTS, DemandConstants

USUAL_TARGETS = (0.90, 0.95, 0.98)
USUAL_HORIZON, USUAL_STEP, USUAL_FIRST, LEAST_FIRST = 3, 3, 24, 3
# tried too, for the curves
BETWEEN = (0.80, 0.85, 0.88, 0.90, 0.92, 0.93, 0.94, 0.95, 0.96, 0.98, 0.99, 0.995, 0.999)
GZIP = b"\x1f\x8b"
LONGEST_LINE, LARGEST_FILE = 2_000_000, 200_000_000  # characters


@dataclass(frozen=True)
class Rules:
    """How the past is rolled up. ``first``: months known at the first origin (None: 24, or half of a short table)."""

    targets: tuple[float, ...] = USUAL_TARGETS
    horizon: int = USUAL_HORIZON
    first: int | None = None
    step: int = USUAL_STEP


@dataclass(frozen=True)
class Tried:
    """The outcome of a backtest, with what was asked."""

    source: str
    parts: int
    months: int
    rules: Rules
    outcome: Backtest

    @property
    def methods(self) -> tuple[str, ...]:
        """The methods, ours first."""
        return (OUR_METHOD, *METHODS)

    @property
    def scores(self) -> tuple[BacktestScore, ...]:
        """The scores at the targets that were asked for, by method."""
        return tuple(self.outcome.score(method, target) for method in self.methods for target in self.rules.targets)

    def curve(self, method: str) -> list[BacktestScore]:
        """Return one method's scores at every target that was tried, ascending."""
        return sorted((score for score in self.outcome.scores if score.method == method), key=lambda one: one.target)

    def level_for(self, method: str, share: float) -> float | None:
        """Return the mean stock with which a method achieves a share; None where it was not tried so high."""
        return self.outcome.level_for(method, share)


def backtest_file(path: str, rules: Rules = Rules(), progress: ProgressCallback | None = None) -> Tried:
    """Try the methods on a file of month totals (CSV, also gzipped). Raises Invalid for one that cannot be read."""
    table = _read(Path(path))
    return _tried(Path(path).name, table, rules, DEFAULT_CONSTANTS, None, progress)


def backtest_own(rules: Rules = Rules(), progress: ProgressCallback | None = None) -> Tried:
    """Try the methods on the shop's own history; ours as the shop's advice is worked out, from dated jobs.

    Raises Invalid while the history is too short.
    """
    parts, rows, events = use_history()
    constants = shop_config().constants
    table = month_table_from_events(events, [str(key) for key in parts.id[rows].tolist()])
    ours = DatedLevelMethod(events, len(table.months), parts.kind[rows], constants)
    return _tried("the shop's own history", table, rules, constants, ours, progress)


def _tried(
    source: str,
    table: MonthTable,
    rules: Rules,
    constants: DemandConstants,
    ours: LevelMethod | None,
    progress: ProgressCallback | None,
) -> Tried:
    months = len(table.months)
    first = rules.first if rules.first is not None else min(USUAL_FIRST, max(LEAST_FIRST, months // 2))
    targets = sorted({*rules.targets, *BETWEEN})
    try:
        outcome = backtest(
            table.pieces, targets, starts=table.starts, horizon=rules.horizon, first_origin=first, step=rules.step,
            constants=constants, our_method=ours, progress=progress,
        )  # fmt: skip
    except TooFewMonths as error:
        raise Invalid(str(error), reason="nothing_to_try") from None
    return Tried(source, len(table.pieces), months, rules, outcome)


# ---- reading the file ------------------------------------------------------------------------------------


def _read(path: Path) -> MonthTable:
    try:
        with _opened(path) as lines:
            return read_month_table(_bounded(lines))
    except MonthTableError as error:
        raise Invalid(f"{path.name}: {error}", reason="bad_table") from None
    except OSError as error:
        raise Invalid(f"{path} cannot be read: {error.strerror or error}.", reason="unreadable") from None


def _opened(path: Path) -> IO[str]:
    with path.open("rb") as file:
        packed = file.read(2) == GZIP
    if packed:
        return gzip.open(path, "rt", encoding="utf-8-sig", newline="")
    return path.open(encoding="utf-8-sig", newline="")


def _bounded(lines: IO[str]) -> Iterator[str]:
    """Yield lines until the file turns out too large to be a table of months."""
    read = 0
    while line := lines.readline(LONGEST_LINE):
        read += len(line)
        if len(line) >= LONGEST_LINE or read > LARGEST_FILE:
            raise MonthTableError("The file is too large to be a table of month totals: split it.")
        yield line
