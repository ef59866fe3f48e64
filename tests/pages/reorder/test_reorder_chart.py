"""The picture that answers why lies where the numbers say, and says the same in words and figures."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import StockOverTime, StockPoint
from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.movements import pull, receive
from inventory.domain.reorder import reorder_list
from inventory.pages.reorder.reorder_chart import (
    BOTTOM,
    DELIVERY_X,
    LEFT,
    LONGEST_USE,
    NOW_X,
    RIGHT,
    TOP,
    ReorderChart,
    reorder_chart,
)
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import page_text

NOW = datetime(2026, 11, 3, 12, tzinfo=UTC)


def over(changes: list[tuple[int, str, int]], opening: int = 0, days: int = 100) -> StockOverTime:
    """Make a history from (days ago, kind, change)."""
    points, on_books = [], opening
    for ago, kind, change in sorted(changes, reverse=True):
        on_books += change
        points.append(StockPoint(NOW - timedelta(days=ago), kind, change, on_books))
    return StockOverTime(NOW - timedelta(days=days), opening, tuple(points))


def reckoned(
    chances: list[float], position: int, level: int, *, portion: int = 1, unit: str = "piece", kept: str = "counted"
) -> Any:
    """Return what the picture reads of a part's reckoning."""
    spread = np.array(chances)
    return SimpleNamespace(
        portion=portion,
        reckoned=SimpleNamespace(pieces=spread, cumulative=np.cumsum(spread), interval_days=15.2),
        advice=SimpleNamespace(
            part=SimpleNamespace(unit=unit, kept=kept), level=level, reorder_point=level - 1, position=position
        ),
    )


def chart(history: StockOverTime, chances: list[float], position: int, level: int, **more: Any) -> ReorderChart:
    return reorder_chart(reckoned(chances, position, level, **more), history, NOW)


def test_it_draws_a_delivery_halfway_up_a_level_twice_as_high() -> None:
    drawn = chart(over([(50, "receive", 10)]), [1.0], 10, 20)
    middle, half = (LEFT + NOW_X) / 2, (TOP + BOTTOM) / 2
    assert drawn.deliveries == ((middle, half),)
    assert drawn.line == f"M{LEFT} {BOTTOM}.0H{middle}V{half}H{NOW_X}"
    assert (drawn.level.at, drawn.zero, drawn.position.at) == (TOP, BOTTOM, half)


def test_a_use_hangs_below_nothing_the_longer_the_more_was_taken() -> None:
    drawn = chart(over([(60, "receive", 20), (50, "pull", -1), (25, "pull", -8)]), [1.0], 11, 5)
    small, large = drawn.uses
    assert small.x < large.x
    assert small.length < large.length == LONGEST_USE


def test_each_bar_is_the_chance_of_what_is_left_on_the_scale_of_the_stock() -> None:
    drawn = chart(over([(50, "receive", 4)]), [0.5, 0.25, 0.15, 0.05, 0.03, 0.02], 3, 4)
    assert [(bar.most, bar.short) for bar in drawn.bars] == [
        (3, False), (2, False), (1, False), (0, False), (-1, True), (-2, True),
    ]  # fmt: skip
    assert [bar.chance for bar in drawn.bars] == pytest.approx([0.5, 0.25, 0.15, 0.05, 0.03, 0.02])
    assert [bar.width for bar in drawn.bars] == sorted((bar.width for bar in drawn.bars), reverse=True)
    assert drawn.bars[0].y + drawn.bars[0].height / 2 == pytest.approx(drawn.position.at, abs=0.1)
    assert drawn.bars[3].y + drawn.bars[3].height / 2 == pytest.approx(drawn.zero, abs=0.1)


def test_the_field_reaches_down_to_what_is_left_in_nine_of_ten_cases() -> None:
    drawn = chart(over([(50, "receive", 4)]), [0.5, 0.25, 0.15, 0.05, 0.05], 3, 4)
    one_left = drawn.bars[2].y + drawn.bars[2].height / 2
    assert drawn.cone.startswith(f"M{NOW_X} {drawn.position.at}L{DELIVERY_X} {drawn.position.at}V")
    assert float(drawn.cone.split("V")[1].rstrip("Z")) == pytest.approx(one_left, abs=0.1)


def test_it_sums_up_what_came_in_and_what_was_used() -> None:
    history = over([(60, "receive", 10), (50, "pull", -4), (40, "put back", 1), (30, "scrap", -2)], 3)
    past = chart(history, [1.0], 8, 0).history
    assert (past.received, past.parcels, past.used, past.now, past.lowest, past.highest) == (10, 1, 3, 8, 3, 13)
    assert not chart(history, [1.0], 8, 0).kept


def test_it_takes_readings_for_use_of_what_is_kept_by_level() -> None:
    history = over([(60, "receive", 500), (50, "count", -120), (40, "pull", -30)])
    assert chart(history, [1.0], 350, 0, unit="g").history.used == 30
    read = chart(history, [1.0], 350, 0, unit="g", kept="by level", portion=30)
    assert (read.history.used, len(read.uses)) == (150, 2)


def test_many_numbers_are_drawn_together_and_none_of_their_chance_is_lost() -> None:
    drawn = chart(over([(50, "receive", 500)]), [0.002] * 500, 500, 480)
    assert len(drawn.bars) <= 44
    assert drawn.bars[0].most - drawn.bars[0].fewest > 5
    assert sum(bar.chance for bar in drawn.bars) + drawn.beyond == pytest.approx(1)
    assert drawn.bars[-1].fewest >= 0


@given(
    st.lists(st.tuples(st.integers(1, 99), st.sampled_from(["receive", "pull"]), st.integers(1, 50)), max_size=30),
    st.lists(st.floats(0.001, 1), min_size=1, max_size=120),
    st.integers(-40, 80),
    st.integers(0, 60),
    st.sampled_from([1, 12]),
)
def test_it_never_draws_outside_the_picture(
    changes: list[tuple[int, str, int]], weights: list[float], position: int, level: int, portion: int
) -> None:
    signed = [(ago, kind, number if kind == "receive" else -number) for ago, kind, number in changes]
    spread = (np.array(weights) / sum(weights)).tolist()
    drawn = chart(over(signed, 10), spread, position, level, portion=portion)
    marks = [drawn.zero, drawn.level.at, drawn.reorder_point.at, drawn.position.at, *(t.at for t in drawn.ticks)]
    marks += [y for _, y in drawn.deliveries] + [float(y) for y in re.findall(r"V(-?[\d.]+)", drawn.line)]
    assert all(TOP <= y <= BOTTOM for y in marks)
    assert all(LEFT <= x <= NOW_X for x in [*(use.x for use in drawn.uses), *(x for x, _ in drawn.deliveries)])
    for bar in drawn.bars:
        assert bar.y >= TOP - 6
        assert bar.y + bar.height <= BOTTOM + 6
        assert 0 < bar.width <= RIGHT - DELIVERY_X
    assert sum(bar.chance for bar in drawn.bars) + drawn.beyond == pytest.approx(1)
    assert [bar.most for bar in drawn.bars] == sorted((bar.most for bar in drawn.bars), reverse=True)


# ---- on the page -------------------------------------------------------------------------------------------


def test_the_part_page_shows_it_with_the_same_in_words_and_figures(tech_page: PageClient) -> None:
    with clock.freeze_at(clock.now() - timedelta(days=200)):
        part = a_part("Lamp holder")
        receive.receive(part.id, 20, a_bin(part).id)
        suppliers.add_offer(part.id, suppliers.add_supplier("Northgate Components", lead_days=20).id, 40)
    for days in range(10, 190, 12):
        with clock.freeze_at(clock.now() - timedelta(days=days)):
            pull.pull(1, part_id=part.id, job_id=a_job().id)
    page = tech_page.get(f"/parts/{part.id}")
    text, shown_text = page.get_data(as_text=True), page_text(page)
    assert 'role="img" aria-labelledby="why-told"' in text
    assert 'id="why-told"' in text
    assert "20 pieces came in (1 time) and 15 pieces were used; 5 pieces on the books now" in shown_text
    assert "The same in figures" in shown_text
    explain_advice = reorder_list.explain_advice(part.id)
    assert f"level {explain_advice.advice.level} pieces" in shown_text
    assert f"reorder point {explain_advice.advice.reorder_point}" in shown_text
    assert "it runs dry with a chance of" in shown_text


def test_a_part_without_any_history_has_its_picture_too(tech_page: PageClient) -> None:
    part = a_part("Lamp holder")
    assert "0 pieces came in and 0 pieces were used" in page_text(tech_page.get(f"/parts/{part.id}"))
    parts.edit_part(part.id, retired=True)
    assert tech_page.get(f"/parts/{part.id}").status_code == 200
