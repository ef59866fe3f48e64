"""Pictures of numbers lie where the numbers say."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.buying import suppliers
from inventory.domain.jobs import jobs
from inventory.domain.reorder import reorder_list
from inventory.pages.reorder import demand_chart
from tests.factories import a_job, a_stocked_part


@given(st.integers(1, 2_000_000))
def test_it_chooses_few_round_ticks_from_zero(most: int) -> None:
    ticks = demand_chart.nice_ticks(most)
    assert ticks[0] == 0
    assert 1 <= len(ticks) <= 6
    assert ticks[-1] <= most


@given(st.lists(st.integers(0, 1000), min_size=1, max_size=6))
def test_it_splits_a_bar_into_all_of_it(numbers: list[int]) -> None:
    bar_sections = demand_chart.bar_sections([(str(place), number) for place, number in enumerate(numbers)])
    assert [section.number for section in bar_sections] == [number for number in numbers if number]
    if bar_sections:
        assert abs(sum(section.width for section in bar_sections) - 100) < 0.1
        assert bar_sections[0].start == 0


def test_when_jobs_want_more_than_there_is_every_bar_runs_dry(bench: object) -> None:
    part, _, _ = a_stocked_part(2)
    suppliers.add_offer(part.id, suppliers.add_supplier("Northgate", lead_days=9).id, 900)
    enough = demand_chart.demand_chart(reorder_list.explain_advice(part.id))
    assert enough.have.word == "there are 2 pieces"
    assert [bar.short for bar in enough.bars][:3] == [False, False, False]
    jobs.set_need(a_job().id, part.id, 5)
    chart = demand_chart.demand_chart(reorder_list.explain_advice(part.id))
    assert chart.have.word == "jobs want 3 pieces more"
    assert chart.have.at == demand_chart.LEFT
    assert all(bar.short for bar in chart.bars)
