"""Pictures of numbers lie where the numbers say."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from inventory.pages import charts


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
