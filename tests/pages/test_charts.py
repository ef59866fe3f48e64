"""Pictures of numbers lie where the numbers say."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from inventory.pages import charts
from inventory.stock.records_orders import StockOverTime, StockPoint

NOW = datetime(2026, 11, 3, 12, tzinfo=UTC)


def over(changes: list[tuple[int, str, int]], opening: int = 0, days: int = 100) -> StockOverTime:
    """Make a history from (days ago, kind, change)."""
    points, on_books = [], opening
    for ago, kind, change in sorted(changes, reverse=True):
        on_books += change
        points.append(StockPoint(NOW - timedelta(days=ago), kind, change, on_books))
    return StockOverTime(NOW - timedelta(days=days), opening, tuple(points))


def test_it_draws_a_delivery_halfway_up_a_level_twice_as_high() -> None:
    chart = charts.stock_chart(over([(50, "receive", 10)]), 20, 19, "piece", NOW)
    middle, half = (charts.LEFT + charts.RIGHT) / 2, (charts.TOP + charts.BOTTOM) / 2
    assert chart.deliveries == ((middle, half),)
    assert chart.line == f"M{charts.LEFT} {charts.BOTTOM}.0H{middle}V{half}H{charts.RIGHT}"
    assert chart.level.at == charts.TOP


def test_it_sums_up_what_came_in_and_what_was_used() -> None:
    chart = charts.stock_chart(
        over([(60, "receive", 10), (50, "pull", -4), (40, "put back", 1), (30, "scrap", -2)], 3), 0, -1, "piece", NOW
    )
    assert (chart.received, chart.used, chart.now, chart.lowest, chart.highest) == (10, 3, 8, 3, 13)
    assert not chart.kept


@given(
    st.lists(st.tuples(st.integers(1, 99), st.sampled_from(["receive", "pull"]), st.integers(1, 50)), max_size=30),
    st.integers(0, 60),
)
def test_it_never_draws_outside_the_picture(changes: list[tuple[int, str, int]], level: int) -> None:
    signed = [(ago, kind, number if kind == "receive" else -number) for ago, kind, number in changes]
    chart = charts.stock_chart(over(signed, 10), level, level - 1, "piece", NOW)
    marks = [chart.level.at, chart.reorder_point.at, *(y for _, y in chart.deliveries), *(t.at for t in chart.ticks)]
    assert all(charts.TOP <= y <= charts.BOTTOM for y in marks)
    assert all(charts.LEFT <= x <= charts.RIGHT for x in [*chart.uses, *(x for x, _ in chart.deliveries)])


@given(st.integers(1, 2_000_000))
def test_it_chooses_few_round_ticks_from_zero(most: int) -> None:
    ticks = charts.nice_ticks(most)
    assert ticks[0] == 0
    assert 1 <= len(ticks) <= 6
    assert ticks[-1] <= most


@given(st.lists(st.integers(0, 1000), min_size=1, max_size=6))
def test_it_splits_a_bar_into_all_of_it(numbers: list[int]) -> None:
    found = charts.shares([(str(place), number) for place, number in enumerate(numbers)])
    assert [one.number for one in found] == [number for number in numbers if number]
    if found:
        assert abs(sum(one.width for one in found) - 100) < 0.1
        assert found[0].start == 0


def test_it_takes_readings_for_use_of_what_is_kept_by_level() -> None:
    history = over([(60, "receive", 500), (50, "count", -120), (40, "pull", -30)])
    assert charts.stock_chart(history, 0, -1, "g", NOW).used == 30
    read = charts.stock_chart(history, 0, -1, "g", NOW, by_level=True)
    assert read.used == 150
    assert len(read.uses) == 2
