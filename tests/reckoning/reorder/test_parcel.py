"""Parts that share a parcel: what must go, what joins, and that no other way of sharing the parts out is cheaper."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.reckoning.reorder.joint_replenishment import (
    OrderPlan,
    ReplenishmentLine,
    can_join_level,
    choose_joining,
    plan_order,
)
from inventory.reckoning.reorder.order_quantity import OrderCosts, PriceBreak, PricedOffer, choose_order_quantity

COSTS = OrderCosts(line_cost=200, holding_share=0.25, most_years=3)


def offer(price: float = 100.0, pack: int = 1) -> PricedOffer:
    return PricedOffer((PriceBreak(1, price),), pack)


def line(level: int, position: int, demand: float = 12.0, what: PricedOffer | None = None) -> ReplenishmentLine:
    return ReplenishmentLine(level, position, demand, what or offer())


NEVER_AGAIN = line(1, 0, 0.0)  # must go now, and has no next round


def test_it_sends_no_order_when_nothing_must_go() -> None:
    assert plan_order([line(5, 5), line(3, 9)], 900, COSTS) == OrderPlan()
    assert plan_order([], 900, COSTS) == OrderPlan()


def test_it_takes_a_part_near_its_level_along_when_a_parcel_of_its_own_would_cost_more() -> None:
    plan = plan_order([NEVER_AGAIN, line(5, 5), line(5, 400)], 900, COSTS)
    assert [(p.line, p.must) for p in plan.lines] == [(0, True), (1, False)]
    joined = plan.joining[0]
    # One piece above R at 12 a year: its goods are held 1/12 year longer, at 25 % of their price a year.
    assert joined.years_early == pytest.approx(1 / 12)
    assert joined.held == pytest.approx(joined.quantity.goods * 0.25 / 12)
    assert plan.saved == pytest.approx(900 - joined.held)


def test_a_whole_range_does_not_join_because_one_later_parcel_carries_it_all() -> None:
    """Each alone would join, as a parcel of its own costs more than holding it for half a year."""
    range_ = [line(5, 10, what=offer(400.0)) for _ in range(100)]
    assert len(plan_order([NEVER_AGAIN, range_[0]], 900, COSTS).joining) == 1
    assert plan_order([NEVER_AGAIN, *range_], 900, COSTS).joining == ()


def test_a_few_that_are_due_next_week_join_though_the_rest_wait() -> None:
    soon, later = [line(5, 5, 52.0)] * 3, [line(5, 30, 52.0, offer(400.0))] * 20
    plan = plan_order([NEVER_AGAIN, *later, *soon], 900, COSTS)
    assert sorted(part.line for part in plan.joining) == [21, 22, 23]


def test_a_part_waits_for_the_next_round_when_a_parcel_goes_again_before_its_turn() -> None:
    weekly = line(5, 4, 520.0, offer(4000.0))  # ordered again in a few weeks
    slow = line(5, 8, 6.0, offer(1.0))
    assert [line.line for line in plan_order([weekly, slow], 900, COSTS).lines] == [0]
    assert [line.line for line in plan_order([NEVER_AGAIN, slow], 900, COSTS).lines] == [0, 1]


def test_it_takes_nothing_along_when_shipping_is_free() -> None:
    assert [p.line for p in plan_order([line(5, 2), line(5, 5)], 0, COSTS).lines] == [0]


def test_it_leaves_out_parts_that_are_not_kept_never_used_or_would_last_for_years() -> None:
    reel = line(2, 2, 12.0, offer(0.01, pack=1000))
    plan = plan_order([NEVER_AGAIN, line(0, 0), line(5, 5, demand=0.0), reel], 900, COSTS)
    assert [p.line for p in plan.lines] == [0]


def test_it_orders_less_of_each_part_the_more_lines_share_the_shipping() -> None:
    alone = plan_order([line(5, 2, 100)], 5000, COSTS).lines[0].quantity.pieces
    shared = plan_order([line(5, 2, 100)] * 4, 5000, COSTS).lines[0].quantity.pieces
    assumed = plan_order([line(5, 2, 100)], 5000, COSTS, lines_per_parcel=4).lines[0].quantity.pieces
    assert 3 <= shared < alone
    assert assumed == shared


# ---- exhaustive comparison ---------------------------------------------------------------------------------

parts = st.lists(st.tuples(st.floats(0.01, 2), st.floats(0, 3000)), max_size=7).map(sorted)


def cost_of(parcels: tuple[float, ...], choice: tuple[float, ...], due: list[tuple[float, float]], shipping: float):
    """Add up what one way of sharing out costs: each later parcel, and each part held from its parcel to its turn."""
    part_years = sum(a_year * (years - moment) for moment, (years, a_year) in zip(choice, due, strict=True))
    return shipping * len(set(parcels) - {0.0}) + part_years


def every_way(due: list[tuple[float, float]], shipping: float) -> float:
    """Try every parcel for every part: the one that goes now, or one at any part's turn that is not after its own."""
    moments = [0.0, *(years for years, _ in due)]
    options = [[moment for moment in moments if moment <= years] for years, _ in due]
    return min(cost_of(choice, choice, due, shipping) for choice in itertools.product(*options))


@settings(max_examples=120, deadline=None)
@given(parts, st.floats(0, 3000))
def test_no_way_of_sharing_parts_out_over_parcels_is_cheaper(due: list[tuple[float, float]], shipping: float) -> None:
    years, a_year = [part[0] for part in due], [part[1] for part in due]
    number, saved = choose_joining(years, a_year, shipping)
    cheapest = every_way(due, shipping)
    waiting = [(part - 0.0, part_years) for part, part_years in due]
    none_joins = min(
        (cost_of(choice, choice, waiting, shipping) for choice in itertools.product(*_later(waiting))), default=0.0
    )
    assert none_joins - saved == pytest.approx(cheapest, abs=1e-6)
    rest = due[number:]
    held_now = sum(part * part_years for part, part_years in due[:number])
    others = min((cost_of(c, c, rest, shipping) for c in itertools.product(*_later(rest))), default=0.0)
    assert held_now + others == pytest.approx(cheapest, abs=1e-6)


def _later(due: list[tuple[float, float]]) -> list[list[float]]:
    """Return the later parcels that each part may go in: those at a turn not after its own."""
    return [[moment for moment, _ in due if moment <= years] for years, _ in due]


@given(st.integers(1, 30), st.floats(0.5, 200), st.floats(1, 2000), st.integers(1, 5000))
def test_a_part_alone_joins_exactly_up_to_the_can_order_level(
    level: int, demand: float, price: float, shipping: int
) -> None:
    what = offer(price)
    order_cost = COSTS.line_cost + shipping
    quantity = choose_order_quantity(1, demand, what, order_cost, COSTS)
    edge = int(can_join_level(level - 1, demand, quantity.pieces, 0.25 * quantity.unit_price, shipping))
    for position in {level, edge, edge + 1}:
        holding_cost = 0.25 * quantity.goods * (position - level + 1) / demand
        if position < level or quantity.long_lasting or math.isclose(holding_cost, shipping, rel_tol=1e-9):
            continue  # due itself, a supply for years, or a tie
        plan = plan_order([NEVER_AGAIN, ReplenishmentLine(level, position, demand, what)], shipping, COSTS)
        assert (len(plan.lines) == 2) == (position <= edge)


def test_it_works_out_can_order_levels_of_many_parts_at_once() -> None:
    assert can_join_level([4, 4, 4], [12, 12, 0], [10, 10, 10], 25, [900, 0, 900]).tolist() == [47, 4, 4]
    assert can_join_level(np.array([4]), 12, 10, 0, 900)[0] > 10**6
