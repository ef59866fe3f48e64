"""The picture of risks that were named: what chance alone explains, and what came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.reorder.forecast_report import RisksNamed

LEFT, RIGHT = 86, 334
TOP, ROW = 26, 44


@dataclass(frozen=True)
class RiskRow:
    """One band of risks: places across the picture, and its words. ``came`` None: nothing was scored in it."""

    y: float
    band: str
    counted: str
    range_from: float
    range_width: float
    stated: float
    came: float | None
    outside: bool


@dataclass(frozen=True)
class RiskChart:
    """The rows, the ticks of the axis below them, and how tall the picture is."""

    rows: tuple[RiskRow, ...]
    ticks: tuple[tuple[float, str], ...]
    bottom: float
    height: float


def risk_chart(bands: Sequence[RisksNamed]) -> RiskChart:
    """Lay out one row a band of risks."""
    rows = tuple(_row(band, TOP + ROW * number) for number, band in enumerate(bands))
    bottom = TOP + ROW * len(bands) - 12
    ticks = tuple((_x(share / 100), f"{share} %") for share in (0, 25, 50, 75, 100))
    return RiskChart(rows, ticks, bottom, bottom + 26)


def _x(share: float) -> float:
    return round(LEFT + (RIGHT - LEFT) * share, 1)


def _row(band: RisksNamed, y: float) -> RiskRow:
    tally = band.tally
    number = max(1, tally.statements)
    low, high = _x(tally.low / number), _x(tally.high / number)
    return RiskRow(
        y, f"{100 * band.low:.0f} to {100 * band.high:.0f} %",
        f"{tally.came} of {tally.statements}" if tally.statements else "none yet",
        low, max(3.0, round(high - low, 1)), _x(tally.stated), _x(tally.happened) if tally.statements else None,
        bool(tally.statements and not tally.low <= tally.came <= tally.high),
    )  # fmt: skip
