"""Pictures of numbers: what is computed here is plain positions; the templates write them as SVG.

Every picture is drawn on a field about as wide as a phone, so that its words can be read there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.buying.order_records import AdviceExplanation
from shared.quantities import format_quantity

WIDTH, HEIGHT = 360, 210
LEFT, RIGHT, TOP, BOTTOM = 34, 352, 14, 178
MAX_BARS = 40
MAX_TICKS = 4


@dataclass(frozen=True)
class AxisTick:
    """A line across the picture, or a tick of an axis, with its word."""

    at: float
    word: str


@dataclass(frozen=True)
class ReferenceLine:
    """A line across the picture with words beside it, on the side where there is room for them."""

    at: float
    word: str
    text_at: float
    anchor: str  # start, end


@dataclass(frozen=True)
class DemandBar:
    """A bar of the picture: so many wanted, with what chance; ``short`` when more are wanted than there are."""

    x: float
    y: float
    width: float
    height: float
    number: int
    chance: float
    short: bool


@dataclass(frozen=True)
class DemandChart:
    """How many may be wanted before the next delivery; the bars right of ``have`` are those that run dry."""

    bars: tuple[DemandBar, ...]
    have: ReferenceLine
    level: ReferenceLine | None
    ticks: tuple[AxisTick, ...]
    beyond: float  # the chance of more than the last bar


def nice_ticks(most: int) -> list[int]:
    """Return a few round whole numbers from 0 to *most*."""
    step = max(1, most / MAX_TICKS)
    size = 10 ** math.floor(math.log10(step))
    step = next(int(size * factor) for factor in (1, 2, 5, 10) if size * factor >= step)
    return list(range(0, most + 1, max(1, step)))


def axis_label(number: int, unit: str) -> str:
    """Say a number of an axis: pieces without their word, other units with it."""
    return str(number) if unit == "piece" else format_quantity(number, unit)


def demand_chart(explanation: AdviceExplanation) -> DemandChart:
    """Lay out the chances of so many being wanted before the next delivery."""
    chances = [float(piece) for piece in explanation.reckoned.pieces]
    unit, portion = explanation.advice.part.unit, explanation.portion
    have = max(-1, explanation.advice.position // portion)  # -1: jobs want more already, and every bar runs dry
    shown = _bar_count(chances, have, explanation.advice.level // portion)
    each = (RIGHT - LEFT) / shown
    tallest = max(chances[:shown]) * (1 if have >= 0 else 1.15)  # room for the words above the first bar

    def x(number: float) -> float:
        return round(LEFT + each * number, 2)

    bars = tuple(
        _demand_bar(
            number, chances[number] if number < len(chances) else 0.0, x(number), each, tallest, number > have
        )
        for number in range(shown)
    )
    step = max(1, -(-shown // 8))
    ticks = tuple(AxisTick(x(first + 0.5), axis_label(first * portion, unit)) for first in range(0, shown, step))
    level = explanation.advice.level // portion
    have_at = x(min(have, shown - 1) + 1)
    return DemandChart(
        bars, _reference_line(have_at, _position_label(explanation.advice.position, unit)),
        _reference_line(x(level + 1), f"level {format_quantity(explanation.advice.level, unit)}", have_at)
        if level < shown and level != have else None,
        ticks, max(0.0, 1 - sum(chances[:shown])),
    )  # fmt: skip


def _position_label(position: int, unit: str) -> str:
    if position < 0:
        return f"jobs want {format_quantity(-position, unit)} more"
    return f"there {'is' if position == 1 and unit == 'piece' else 'are'} {format_quantity(position, unit)}"


def _reference_line(x: float, word: str, other: float | None = None) -> ReferenceLine:
    """Put words right of a line where they fit, else left of it and of the *other* line."""
    room = 6.4 * len(word) + 10  # widths of a letter at the size in which these words are set
    if x + room <= RIGHT:
        return ReferenceLine(x, word, x + 5, "start")
    left = min(x, other) if other is not None and x - room < other < x else x
    return ReferenceLine(x, word, left - 5, "end")


def _bar_count(chances: Sequence[float], have: int, level: int) -> int:
    """Return how many bars to draw: up to the stock, the level, and 99.5 % of the chance."""
    total, needed = 0.0, 1
    for number, chance in enumerate(chances):
        total += chance
        needed = number + 1
        if total > 0.995:
            break
    return min(MAX_BARS, max(needed, min(have, 2 * needed) + 1, level + 2, 3))


def _demand_bar(number: int, chance: float, x: float, each: float, tallest: float, short: bool) -> DemandBar:
    height = round((BOTTOM - TOP) * chance / tallest, 2) if tallest else 0.0
    gap = min(3.0, each / 5)
    return DemandBar(
        round(x + gap / 2, 2), round(BOTTOM - height, 2), round(each - gap, 2), height, number, chance, short
    )


@dataclass(frozen=True)
class BarSection:
    """One section of a bar that is split: its word, how much, and where it lies from 0 to 100."""

    word: str
    number: int
    start: float
    width: float


def bar_sections(sections: Sequence[tuple[str, int]]) -> tuple[BarSection, ...]:
    """Split a bar of 100 by numbers; sections without any are left out."""
    total = sum(number for _, number in sections)
    parts, start = [], 0.0
    for word, number in sections:
        if number > 0:
            width = 100 * number / total
            parts.append(BarSection(word, number, round(start, 2), round(width, 2)))
            start += width
    return tuple(parts)
