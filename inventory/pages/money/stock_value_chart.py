"""The picture of the stock's worth over months: one bar a month end, positions only; a template draws them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.money.money_records import MonthValue
from inventory.pages.reorder.demand_chart import BOTTOM, LEFT, RIGHT, TOP, nice_ticks

AXIS = 14  # room above the tallest bar
MOST_WORDS = 7


@dataclass(frozen=True)
class ValueBar:
    """A bar: where it stands, and which month it is of; ``word`` is empty where there is no room for one."""

    x: float
    y: float
    width: float
    height: float
    month: MonthValue
    word: str
    now: bool


@dataclass(frozen=True)
class ValueChart:
    """The bars, and the ticks of the axis of money: place, and how many whole units of currency it says."""

    bars: tuple[ValueBar, ...]
    ticks: tuple[tuple[float, str], ...]


def value_chart(months: Sequence[MonthValue], minor_units: int = 100) -> ValueChart:
    """Lay out the worth at the end of each month; *minor_units* make one whole unit of the currency."""
    if not months:
        return ValueChart((), ())
    most = max(max(one.value_minor for one in months) / minor_units, 1.0)
    each = (RIGHT - LEFT) / len(months)
    step = -(-len(months) // MOST_WORDS)
    last = len(months) - 1

    def y(minor: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP - AXIS) * minor / minor_units / most, 1)

    bars = tuple(
        ValueBar(
            round(LEFT + each * at + each / 8, 1), y(one.value_minor), round(each * 0.75, 1),
            round(BOTTOM - y(one.value_minor), 1), one, _word(one, at == last) if (last - at) % step == 0 else "",
            at == last,
        )
        for at, one in enumerate(months)
    )  # fmt: skip
    return ValueChart(bars, tuple((y(one * minor_units), _short(one)) for one in nice_ticks(int(most))))


def _word(one: MonthValue, now: bool) -> str:
    return "now" if now else f"{one.day:%b}" + (f" {one.day:%y}" if one.day.month == 1 else "")


def _short(number: int) -> str:
    return f"{number / 1000:g}k" if number >= 1000 else str(number)
