"""The picture of a supplier's dead on arrival: the rate of each quarter as a dot on the line of its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.buying.incoming_records import DeadOnArrivalQuarter, DeadOnArrivalRate

WIDTH, HEIGHT = 360, 190
LEFT, RIGHT, TOP, BOTTOM = 40, 352, 16, 142
SCALE_TOPS = (0.05, 0.1, 0.2, 0.5, 1.0)  # tops of the scale, so that small rates can be told apart


@dataclass(frozen=True)
class QuarterMark:
    """One quarter: places in the picture, and its words. ``over``: the interval goes on above the picture."""

    x: float
    rate: float
    low: float
    high: float
    over: bool
    name: str
    counted: str


@dataclass(frozen=True)
class DeadOnArrivalChart:
    """The quarters, the scale beside them, and the band of the whole."""

    marks: tuple[QuarterMark, ...]
    ticks: tuple[tuple[float, str], ...]
    band_top: float
    band_height: float
    mean: float


def dead_on_arrival_chart(rate: DeadOnArrivalRate) -> DeadOnArrivalChart | None:
    """Lay out the picture; None when too few were seen for one."""
    if not rate.enough or len(rate.quarters) < 2:
        return None
    most = _scale_top(rate.quarters, rate.high)
    each = (RIGHT - LEFT) / len(rate.quarters)
    marks = tuple(
        _quarter_mark(quarter, LEFT + each * (number + 0.5), most) for number, quarter in enumerate(rate.quarters)
    )
    ticks = tuple((_y(share * most, most), f"{share * most * 100:g} %") for share in (0, 0.5, 1))
    top, bottom = _y(rate.high, most), _y(rate.low, most)
    return DeadOnArrivalChart(marks, ticks, top, round(bottom - top, 1), _y(rate.rate, most))


def _scale_top(quarters: Sequence[DeadOnArrivalQuarter], high: float) -> float:
    """Return the top of the scale: it holds every rate and the interval of the whole; a wide one may go over."""
    most = max(high, *(quarter.rate for quarter in quarters)) * 1.15
    return next((top for top in SCALE_TOPS if top >= most), 1.0)


def _y(share: float, most: float) -> float:
    return round(BOTTOM - (BOTTOM - TOP) * min(share, most) / most, 1)


def _quarter_mark(quarter: DeadOnArrivalQuarter, x: float, most: float) -> QuarterMark:
    return QuarterMark(
        round(x, 1), _y(quarter.rate, most), _y(quarter.low, most), _y(quarter.high, most), quarter.high > most,
        f"{quarter.name[:2]} {quarter.name[-2:]}", f"{quarter.dead}/{quarter.seen}",
    )  # fmt: skip
