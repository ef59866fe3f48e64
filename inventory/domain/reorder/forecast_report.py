"""Promised against achieved: whether levels lasted, and whether stated risks came true as often as stated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

import numpy as np

from inventory.domain.common.described import About, chance
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import PartRecord, ResultPage, from_row
from inventory.domain.common.validation import PROMISES, get_row
from inventory.domain.reorder.forecast_scores import score_forecasts
from inventory.reckoning.reorder.calibration import Calibration, CalibrationVerdict, calibrate
from inventory.reckoning.reorder.demand import BoolArray, FloatArray, IntArray
from inventory.reckoning.reorder.portions import to_portions
from inventory.store.connection import execute
from inventory.store.fields import from_micros
from inventory.store.tables import Forecast, Part

VERDICTS = tuple(one.value for one in CalibrationVerdict)
RISK_BANDS = ((0.0, 0.05), (0.05, 0.2), (0.2, 0.5), (0.5, 1.0))
MAX_SCORED = 20_000  # the newest ones
MAX_MISSED = 12


@dataclass(frozen=True)
class LevelCalibration:
    """How often the levels of one promise and target lasted; a miss is an interval with more demand."""

    promise: Annotated[str, About("What was promised.", choices=PROMISES)]
    target: Annotated[float, chance("How often it was to hold.")]
    tally: Calibration

    @property
    def achieved(self) -> Annotated[float, About(minimum=0.0, maximum=1.0)]:
        """The share of levels that lasted."""
        return 1 - self.tally.happened


@dataclass(frozen=True)
class RiskCalibration:
    """How often the promise broke where a risk between two bounds had been named."""

    low: Annotated[float, chance("From this risk.")]
    high: Annotated[float, chance("To this risk.")]
    tally: Calibration


@dataclass(frozen=True)
class ForecastRecord:
    """One saved advice. ``wanted``: the demand, None when not scored yet or put aside. Quantities in base units."""

    id: Annotated[int, "Its id."]
    part: Annotated[PartRecord, "The part."]
    given: Annotated[datetime, "When it was given."]
    until: Annotated[datetime, "When its time ends."]
    promise: Annotated[str, About("What was promised.", choices=PROMISES)]
    target: Annotated[float, chance("How often it was to hold.")]
    position: Annotated[int, About("The position then, in base units.", minimum=None, maximum=None)]
    level: Annotated[int, About("The level then.", maximum=None)]
    level_kept: Annotated[float | None, chance("The chance stated for the level; null: the owner had fixed it.")]
    risk: Annotated[float, chance("The chance stated that the promise breaks at that position.")]
    counts: Annotated[bool, "It counts: no other one of the part was open."]
    scored: Annotated[datetime | None, "When it was held against what happened."]
    wanted: Annotated[int | None, About("How many were wanted until then; null: not known.", maximum=None)]
    portion: int

    @property
    def level_lasted(self) -> bool | None:
        """The level would have lasted."""
        return self._covers_demand(self.level)

    @property
    def kept(self) -> bool | None:
        """The promise held at the position there was."""
        return self._covers_demand(self.position)

    def _covers_demand(self, quantity: int) -> bool | None:
        return None if self.wanted is None else -(-self.wanted // self.portion) <= quantity // self.portion


@dataclass(frozen=True)
class ForecastReport:
    """Promised against achieved. ``waiting``: advice whose time has not passed; ``missed``: the newest misses."""

    since: Annotated[datetime | None, "The first advice remembered."]
    remembered: Annotated[int, About("How many are remembered.", maximum=None)]
    judged: Annotated[int, About("How many were scored and count.", maximum=None)]
    waiting: Annotated[int, About("How many wait for their time to pass.", maximum=None)]
    levels: Annotated[tuple[LevelCalibration, ...], "Levels, by promise and target."]
    risks: Annotated[tuple[RiskCalibration, ...], "Risks, by bands."]
    missed: Annotated[tuple[ForecastRecord, ...], "The newest levels that did not last."]


def forecast_report() -> ForecastReport:
    """Score what can be scored, and compare what was promised with what was achieved."""
    score_forecasts()
    judged = _scored_forecasts()
    first, remembered, waiting = execute(
        "SELECT MIN(given), COUNT(*), COALESCE(SUM(CASE WHEN counts AND scored IS NULL THEN 1 ELSE 0 END), 0)"
        " FROM forecasts"
    ).fetchone()
    return ForecastReport(
        None if first is None else from_micros(int(first)), int(remembered), len(judged.risk), int(waiting),
        tuple(_level_calibrations(judged)), tuple(_risk_calibrations(judged)), tuple(_missed_forecasts()),
    )  # fmt: skip


def forecasts(
    *, part_id: int | None = None, scored: bool | None = None, after: str | None = None, limit: int = 50
) -> ResultPage:  # fmt: skip
    """Return saved advice, newest first; *scored* selects what has been scored (True) or not (False)."""
    query = Forecast.select(Forecast, Part).join(Part)
    if part_id is not None:
        query = query.where(Forecast.part == get_row(Part, part_id, "part").id)
    if scored is not None:
        query = query.where(Forecast.scored.is_null(not scored))
    return paginate(query, Forecast.id, after, limit, _record, descending=True)


# ---- counting --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _ScoredForecasts:
    """The scored advice that counts, one entry each. Quantities in portions."""

    promise: IntArray  # place in PROMISES
    target: FloatArray
    position: IntArray
    level: IntArray
    level_kept: FloatArray  # NaN: the owner fixed the level
    risk: FloatArray
    demand: IntArray

    def of(self, rows: BoolArray) -> _ScoredForecasts:
        """Return some of the rows."""
        return _ScoredForecasts(**{name: getattr(self, name)[rows] for name in self.__dataclass_fields__})


_COUNTED = """
SELECT promise, target, position, level, level_kept, risk, wanted, portion FROM forecasts
WHERE counts AND scored IS NOT NULL AND wanted IS NOT NULL ORDER BY scored DESC LIMIT ?
"""


def _scored_forecasts() -> _ScoredForecasts:
    rows: Any = execute(_COUNTED, MAX_SCORED).fetchall()
    column_values: list[Any] = list(zip(*rows, strict=True)) or [()] * 8
    portion = np.array(column_values[7], np.int64)
    quantities = [np.array(column_values[n], np.int64) for n in (2, 3, 6)]
    return _ScoredForecasts(
        np.array([PROMISES.index(column) for column in column_values[0]], np.int64),
        np.array(column_values[1], float),
        quantities[0] // portion, quantities[1] // portion,
        np.array([np.nan if column is None else column for column in column_values[4]], float),
        np.array(column_values[5], float),
        to_portions(quantities[2], portion),
    )  # fmt: skip


def _level_calibrations(judged: _ScoredForecasts) -> Iterator[LevelCalibration]:
    computed = judged.of(~np.isnan(judged.level_kept))
    kinds = sorted(
        {(int(promise), float(target)) for promise, target in zip(computed.promise, computed.target, strict=True)}
    )
    for promise, target in kinds:
        group = computed.of((computed.promise == promise) & (computed.target == target))
        yield LevelCalibration(
            PROMISES[promise], target, calibrate(1 - group.level_kept, int((group.demand > group.level).sum()))
        )


def _risk_calibrations(judged: _ScoredForecasts) -> Iterator[RiskCalibration]:
    """Yield a tally for each band of risk; positions below 0 are left out: there the promise was broken already."""
    open_to_risk = judged.of(judged.position >= 0)
    for low, high in RISK_BANDS:
        inside = (open_to_risk.risk >= low) & ((open_to_risk.risk < high) | (high == 1.0))
        band = open_to_risk.of(inside)
        yield RiskCalibration(low, high, calibrate(band.risk, int((band.demand > band.position).sum())))


def _missed_forecasts() -> Iterator[ForecastRecord]:
    """Yield the newest advice whose level would not have lasted."""
    query: Any = (
        Forecast.select(Forecast, Part).join(Part)
        .where(Forecast.counts, Forecast.wanted > Forecast.level, Forecast.level_kept.is_null(False))
        .order_by(Forecast.scored.desc(), Forecast.id.desc()).limit(MAX_MISSED)
    )  # fmt: skip
    for row in query:
        yield _record(row)


def _record(row: Any) -> ForecastRecord:
    return from_row(ForecastRecord, row, part=from_row(PartRecord, row.part))
