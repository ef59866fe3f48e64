"""The picture that answers why: a part's stock over time and, on one scale, what the next delivery may find left.

Left of "now" the stock as it was, with every delivery and every use; right of it the chance of each number that may
be left when the next delivery comes. What lies below nothing is the risk. Positions only: a template writes the SVG.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from inventory.domain.buying.order_records import AdviceExplanation, StockOverTime, StockPoint
from inventory.domain.reorder.usage import kinds_of_use
from inventory.pages.reorder.demand_chart import AxisTick, axis_label, nice_ticks
from inventory.reckoning.common.durations import DAYS_PER_MONTH
from shared.quantities import format_quantity

_AmountBand = tuple[int, int, float]  # left by then: most, fewest, and the chance of it

WIDTH, HEIGHT = 360, 250
LEFT, NOW_X, DELIVERY_X, RIGHT = 34, 238, 270, 354
TOP, BOTTOM = 30, 206
MAX_SHARE_BELOW_ZERO = 0.4  # of the picture's height may lie below nothing
MAX_BARS = 44
CHANCE_DRAWN = 0.995  # so much of the chance is drawn
SHORTEST_USE, LONGEST_USE = 4, 16  # units of the picture, for the smallest and the largest use


@dataclass(frozen=True)
class UseStroke:
    """A use of the part: where, and how long its stroke is, by its number."""

    x: float
    length: float


@dataclass(frozen=True)
class RemainingBar:
    """A bar: so much may be left (below 0: short by so much) when the next delivery comes."""

    y: float
    height: float
    width: float
    most: int  # left, in base units; the bar stands for `fewest` to `most`
    fewest: int
    chance: float
    short: bool


@dataclass(frozen=True)
class ReorderChart:
    """Stock over time, and what may be left by the next delivery. ``kept``: there is a level to be kept."""

    line: str
    area: str
    zero: float
    deliveries: tuple[tuple[float, float], ...]
    uses: tuple[UseStroke, ...]
    kept: bool
    level: AxisTick
    reorder_point: AxisTick
    position: AxisTick
    cone: str  # from the position now to what is left in nine of ten cases
    bars: tuple[RemainingBar, ...]
    months: tuple[AxisTick, ...]
    ticks: tuple[AxisTick, ...]
    history: StockHistory
    until_days: int
    beyond: float  # chance of still less than the lowest bar


@dataclass(frozen=True)
class StockHistory:
    """The past in numbers: base units, days."""

    days: int
    received: int
    parcels: int
    used: int
    now: int
    lowest: int
    highest: int


@dataclass(frozen=True)
class _ChartScale:
    """From pieces and moments to places."""

    since: datetime
    now: datetime
    most: float
    least: float

    def x(self, at: datetime) -> float:
        seconds = max(1.0, (self.now - self.since).total_seconds())
        return round(LEFT + (NOW_X - LEFT) * (at - self.since).total_seconds() / seconds, 1)

    def y(self, number: float) -> float:
        inside = min(max(number, self.least), self.most)
        return round(BOTTOM - (BOTTOM - TOP) * (inside - self.least) / (self.most - self.least), 1)


def reorder_chart(found: AdviceExplanation, over: StockOverTime, now: datetime) -> ReorderChart:
    """Lay out the picture of one part; of one kept by level, readings are use too."""
    part, advice = found.advice.part, found.advice
    points = [point for point in over.points if point.at <= now]
    heights = [over.opening, *(point.on_books for point in points)]
    bars, least = _amounts_left(found, max(1, advice.level, advice.position, *heights))
    scale = _ChartScale(over.since, now, max(1, advice.level, advice.position, *heights), least)
    used = [point for point in points if point.kind in kinds_of_use(part.kept)]
    came = [point for point in points if point.kind == "receive" and point.change > 0]
    line = f"M{LEFT} {scale.y(over.opening)}" + "".join(f"H{scale.x(p.at)}V{scale.y(p.on_books)}" for p in points)
    line += f"H{NOW_X}"
    return ReorderChart(
        line, f"{line}V{scale.y(0)}H{LEFT}Z", scale.y(0),
        tuple((scale.x(one.at), scale.y(one.on_books)) for one in came), _use_strokes(used, scale), advice.level > 0,
        AxisTick(scale.y(advice.level), format_quantity(advice.level, part.unit)),
        AxisTick(scale.y(max(0, advice.reorder_point)), format_quantity(max(0, advice.reorder_point), part.unit)),
        AxisTick(scale.y(advice.position), format_quantity(advice.position, part.unit)), _forecast_cone(found, scale),
        _remaining_bars(bars, found.portion, scale), _quarter_ticks(scale),
        tuple(AxisTick(scale.y(tick), axis_label(tick, part.unit)) for tick in nice_ticks(int(scale.most))),
        StockHistory(
            (now - over.since).days, sum(p.change for p in points if p.kind == "receive"), len(came),
            -sum(p.change for p in used), heights[-1], min(heights), max(heights),
        ),
        round(found.reckoned.months * DAYS_PER_MONTH), max(0.0, 1 - sum(chance for *_, chance in bars)),
    )  # fmt: skip


def _use_strokes(used: Sequence[StockPoint], scale: _ChartScale) -> tuple[UseStroke, ...]:
    """Return a stroke for each use, the longer the more was taken."""
    taken = [one for one in used if one.change < 0]
    longer = (LONGEST_USE - SHORTEST_USE) / max((-one.change for one in taken), default=1)
    return tuple(UseStroke(scale.x(one.at), round(SHORTEST_USE - longer * one.change, 1)) for one in taken)


def _amounts_left(found: AdviceExplanation, most: int) -> tuple[list[_AmountBand], int]:
    """Return what may be left, best first, and the lowest number to be drawn."""
    portion, position = found.portion, found.advice.position
    floor = -max(portion, int(most * MAX_SHARE_BELOW_ZERO / (1 - MAX_SHARE_BELOW_ZERO)))
    single: list[_AmountBand] = []
    total = 0.0
    for wanted, chance in enumerate(found.reckoned.pieces.tolist()):
        left = position - wanted * portion
        if single and (total >= CHANCE_DRAWN or left < floor):
            break
        single.append((left, left, chance))
        total += chance
    lowest = single[-1][0]
    return _group_amounts(single), min(0, lowest - portion if lowest < 0 else 0, max(floor, position))


def _group_amounts(single: Sequence[_AmountBand]) -> list[_AmountBand]:
    """Draw several numbers as one bar where there are too many; never across nothing, where the risk begins."""
    size = -(-len(single) // (MAX_BARS - 1))
    above = [one for one in single if one[0] >= 0]
    below = [one for one in single if one[0] < 0]
    groups = [some[start : start + size] for some in (above, below) for start in range(0, len(some), size)]
    return [(some[0][0], some[-1][1], sum(chance for *_, chance in some)) for some in groups]


def _remaining_bars(bars: Sequence[_AmountBand], portion: int, scale: _ChartScale) -> tuple[RemainingBar, ...]:
    tallest = max(chance for *_, chance in bars) or 1.0
    one_piece = (BOTTOM - TOP) / (scale.most - scale.least)
    return tuple(_remaining_bar(bar, one_piece * (bar[0] - bar[1] + portion), tallest, scale) for bar in bars)


def _remaining_bar(bar: _AmountBand, room: float, tallest: float, scale: _ChartScale) -> RemainingBar:
    most, fewest, chance = bar
    height = min(12.0, max(1.4, room - (1.2 if room > 4 else 0.3)))
    middle = scale.y((most + fewest) / 2)
    width = max(0.4, (RIGHT - DELIVERY_X - 2) * chance / tallest)
    return RemainingBar(
        round(middle - height / 2, 2), round(height, 2), round(width, 2), most, fewest, chance, most < 0
    )  # fmt: skip


def _forecast_cone(found: AdviceExplanation, scale: _ChartScale) -> str:
    """Return the field from where the part stands now to where it is by then in nine of ten cases."""
    position = found.advice.position
    worst = position - int((found.reckoned.cumulative >= 0.9).argmax()) * found.portion
    return f"M{NOW_X} {scale.y(position)}L{DELIVERY_X} {scale.y(position)}V{scale.y(worst)}Z"


def _quarter_ticks(scale: _ChartScale) -> tuple[AxisTick, ...]:
    """Return the first days of quarters, those too near an end left out."""
    span = scale.now - scale.since
    firsts = [
        datetime(year, month, 1, tzinfo=scale.since.tzinfo)
        for year in range(scale.since.year, scale.now.year + 1)
        for month in (1, 4, 7, 10)
    ]
    edge = max(span / 14, timedelta(days=1))
    inside = [first for first in firsts if scale.since + edge <= first <= scale.now - edge]
    return tuple(AxisTick(scale.x(one), f"{one:%b %Y}" if one.month == 1 else f"{one:%b}") for one in inside)
