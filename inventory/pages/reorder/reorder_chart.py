"""The picture that answers why: a part's stock over time and, on one scale, what the next delivery may find left.

Left of "now" the stock as it was, with every delivery and every use; right of it the chance of each number that may
be left when the next delivery comes. What lies below nothing is the risk. Positions only: a template writes the SVG.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from inventory.domain.buying.order_records import PartReckoning, StockOverTime, StockPoint
from inventory.domain.reorder.usage import kinds_of_use
from inventory.pages.reorder.demand_chart import Mark, nice_ticks, short_amount
from shared.quantities import format_quantity

_Number = tuple[int, int, float]  # left by then: most, fewest, and the chance of it

WIDTH, HEIGHT = 360, 250
LEFT, NOW_AT, THEN_AT, RIGHT = 34, 238, 270, 354
TOP, BOTTOM = 30, 206
MOST_BELOW = 0.4  # of the picture's height may lie below nothing
MOST_BARS = 44
ENOUGH = 0.995  # so much of the chance is drawn
SHORTEST_USE, LONGEST_USE = 4, 16  # units of the picture, for the smallest and the largest use


@dataclass(frozen=True)
class Use:
    """A use of the part: where, and how long its stroke is, by its number."""

    x: float
    length: float


@dataclass(frozen=True)
class Left:
    """A bar: so much may be left (below 0: short by so much) when the next delivery comes."""

    y: float
    height: float
    width: float
    most: int  # left, in base units; the bar stands for `fewest` to `most`
    fewest: int
    chance: float
    short: bool


@dataclass(frozen=True)
class WhyChart:
    """Stock over time, and what may be left by the next delivery. ``kept``: there is a level to be kept."""

    line: str
    area: str
    zero: float
    deliveries: tuple[tuple[float, float], ...]
    uses: tuple[Use, ...]
    kept: bool
    level: Mark
    reorder_point: Mark
    position: Mark
    cone: str  # from the position now to what is left in nine of ten cases
    bars: tuple[Left, ...]
    months: tuple[Mark, ...]
    ticks: tuple[Mark, ...]
    history: History
    until_days: int
    beyond: float  # chance of still less than the lowest bar


@dataclass(frozen=True)
class History:
    """The past in numbers: base units, days."""

    days: int
    received: int
    parcels: int
    used: int
    now: int
    lowest: int
    highest: int


@dataclass(frozen=True)
class _Scale:
    """From pieces and moments to places."""

    since: datetime
    now: datetime
    most: float
    least: float

    def x(self, at: datetime) -> float:
        seconds = max(1.0, (self.now - self.since).total_seconds())
        return round(LEFT + (NOW_AT - LEFT) * (at - self.since).total_seconds() / seconds, 1)

    def y(self, number: float) -> float:
        inside = min(max(number, self.least), self.most)
        return round(BOTTOM - (BOTTOM - TOP) * (inside - self.least) / (self.most - self.least), 1)


def why_chart(found: PartReckoning, over: StockOverTime, now: datetime) -> WhyChart:
    """Lay out the picture of one part; of one kept by level, readings are use too."""
    part, advice = found.advice.part, found.advice
    points = [one for one in over.points if one.at <= now]
    heights = [over.opening, *(one.on_books for one in points)]
    bars, least = _numbers_left(found, max(1, advice.level, advice.position, *heights))
    scale = _Scale(over.since, now, max(1, advice.level, advice.position, *heights), least)
    used = [one for one in points if one.kind in kinds_of_use(part.kept)]
    came = [one for one in points if one.kind == "receive" and one.change > 0]
    line = f"M{LEFT} {scale.y(over.opening)}" + "".join(f"H{scale.x(p.at)}V{scale.y(p.on_books)}" for p in points)
    line += f"H{NOW_AT}"
    return WhyChart(
        line, f"{line}V{scale.y(0)}H{LEFT}Z", scale.y(0),
        tuple((scale.x(one.at), scale.y(one.on_books)) for one in came), _strokes(used, scale), advice.level > 0,
        Mark(scale.y(advice.level), format_quantity(advice.level, part.unit)),
        Mark(scale.y(max(0, advice.reorder_point)), format_quantity(max(0, advice.reorder_point), part.unit)),
        Mark(scale.y(advice.position), format_quantity(advice.position, part.unit)), _cone(found, scale),
        _drawn(bars, found.portion, scale), _months(scale),
        tuple(Mark(scale.y(one), short_amount(one, part.unit)) for one in nice_ticks(int(scale.most))),
        History(
            (now - over.since).days, sum(p.change for p in points if p.kind == "receive"), len(came),
            -sum(p.change for p in used), heights[-1], min(heights), max(heights),
        ),
        round(found.reckoned.months * 30.4375), max(0.0, 1 - sum(chance for *_, chance in bars)),
    )  # fmt: skip


def _strokes(used: Sequence[StockPoint], scale: _Scale) -> tuple[Use, ...]:
    """Return a stroke for each use, the longer the more was taken."""
    taken = [one for one in used if one.change < 0]
    longer = (LONGEST_USE - SHORTEST_USE) / max((-one.change for one in taken), default=1)
    return tuple(Use(scale.x(one.at), round(SHORTEST_USE - longer * one.change, 1)) for one in taken)


def _numbers_left(found: PartReckoning, most: int) -> tuple[list[_Number], int]:
    """Return what may be left, best first, and the lowest number to be drawn."""
    portion, position = found.portion, found.advice.position
    floor = -max(portion, int(most * MOST_BELOW / (1 - MOST_BELOW)))
    single: list[_Number] = []
    total = 0.0
    for wanted, chance in enumerate(found.reckoned.pieces.tolist()):
        left = position - wanted * portion
        if single and (total >= ENOUGH or left < floor):
            break
        single.append((left, left, chance))
        total += chance
    lowest = single[-1][0]
    return _together(single), min(0, lowest - portion if lowest < 0 else 0, max(floor, position))


def _together(single: Sequence[_Number]) -> list[_Number]:
    """Draw several numbers as one bar where there are too many; never across nothing, where the risk begins."""
    size = -(-len(single) // (MOST_BARS - 1))
    above = [one for one in single if one[0] >= 0]
    below = [one for one in single if one[0] < 0]
    groups = [some[start : start + size] for some in (above, below) for start in range(0, len(some), size)]
    return [(some[0][0], some[-1][1], sum(chance for *_, chance in some)) for some in groups]


def _drawn(bars: Sequence[_Number], portion: int, scale: _Scale) -> tuple[Left, ...]:
    tallest = max(chance for *_, chance in bars) or 1.0
    one_piece = (BOTTOM - TOP) / (scale.most - scale.least)
    return tuple(_bar(bar, one_piece * (bar[0] - bar[1] + portion), tallest, scale) for bar in bars)


def _bar(bar: _Number, room: float, tallest: float, scale: _Scale) -> Left:
    most, fewest, chance = bar
    height = min(12.0, max(1.4, room - (1.2 if room > 4 else 0.3)))
    middle = scale.y((most + fewest) / 2)
    width = max(0.4, (RIGHT - THEN_AT - 2) * chance / tallest)
    return Left(
        round(middle - height / 2, 2), round(height, 2), round(width, 2), most, fewest, chance, most < 0
    )  # fmt: skip


def _cone(found: PartReckoning, scale: _Scale) -> str:
    """Return the field from where the part stands now to where it is by then in nine of ten cases."""
    position = found.advice.position
    worst = position - int((found.reckoned.cumulative >= 0.9).argmax()) * found.portion
    return f"M{NOW_AT} {scale.y(position)}L{THEN_AT} {scale.y(position)}V{scale.y(worst)}Z"


def _months(scale: _Scale) -> tuple[Mark, ...]:
    """Return the first days of quarters, those too near an end left out."""
    span = scale.now - scale.since
    firsts = [
        datetime(year, month, 1, tzinfo=scale.since.tzinfo)
        for year in range(scale.since.year, scale.now.year + 1)
        for month in (1, 4, 7, 10)
    ]
    edge = max(span / 14, timedelta(days=1))
    inside = [one for one in firsts if scale.since + edge <= one <= scale.now - edge]
    return tuple(Mark(scale.x(one), f"{one:%b %Y}" if one.month == 1 else f"{one:%b}") for one in inside)
