"""The picture of the stock's worth over months: one bar a month end, positions only; a template draws them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.money.money_records import MonthValue
from inventory.pages.reorder.demand_chart import BOTTOM, LEFT, RIGHT, TOP, nice_ticks

TOP_MARGIN = 14  # room above the tallest bar
MAX_LABELS = 7


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
    most = max(max(month.value_minor for month in months) / minor_units, 1.0)
    each = (RIGHT - LEFT) / len(months)
    step = -(-len(months) // MAX_LABELS)
    last = len(months) - 1

    def y(minor: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP - TOP_MARGIN) * minor / minor_units / most, 1)

    bars = tuple(
        ValueBar(
            round(LEFT + each * index + each / 8, 1),
            y(month.value_minor),
            round(each * 0.75, 1),
            round(BOTTOM - y(month.value_minor), 1),
            month,
            _month_label(month, index == last) if (last - index) % step == 0 else "",
            index == last,
        )
        for index, month in enumerate(months)
    )
    return ValueChart(bars, tuple((y(tick * minor_units), _short_number(tick)) for tick in nice_ticks(int(most))))


def _month_label(month: MonthValue, now: bool) -> str:
    return "now" if now else f"{month.day:%b}" + (f" {month.day:%y}" if month.day.month == 1 else "")


def _short_number(number: int) -> str:
    return f"{number / 1000:g}k" if number >= 1000 else str(number)
