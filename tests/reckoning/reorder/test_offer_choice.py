"""Offers side by side: the array form says what the one-by-one comparison says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.reckoning.reorder.offer_choice import PriceLadders, yearly_costs
from inventory.reckoning.reorder.order_quantity import OrderCosts, PriceBreak, PricedOffer, choose_order_quantity


@st.composite
def an_offer(draw: st.DrawFn) -> PricedOffer:
    starts = sorted(draw(st.sets(st.integers(2, 400), max_size=3)))
    prices = draw(st.lists(st.floats(0.5, 5000), min_size=len(starts) + 1, max_size=len(starts) + 1))
    steps = [
        PriceBreak(start, price) for start, price in zip([1, *starts], sorted(prices, reverse=True), strict=True)
    ]
    return PricedOffer(tuple(steps), draw(st.sampled_from([1, 5, 10, 100, 1000])), draw(st.integers(1, 60)))


def laddered(offers: list[PricedOffer]) -> PriceLadders:
    steps = [(i, step.from_pieces, step.unit_price) for i, offer in enumerate(offers) for step in offer.breaks]
    of, start, price = zip(*steps, strict=True)
    return PriceLadders(
        np.array([o.pack for o in offers]), np.array([o.minimum for o in offers]), np.array(of), np.array(start),
        np.array(price, float),
    )  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    offers=st.lists(an_offer(), min_size=1, max_size=4),
    demand=st.floats(0.01, 3000),
    order_cost=st.floats(0, 2000),
    share=st.floats(0.01, 1),
    years=st.floats(0.1, 10),
)
def test_it_costs_what_the_exhaustive_comparison_of_each_offer_costs(
    offers: list[PricedOffer], demand: float, order_cost: float, share: float, years: float
) -> None:
    costs = OrderCosts(0.0, share, years)
    size = len(offers)
    computed = yearly_costs(laddered(offers), np.full(size, demand), np.full(size, order_cost), np.zeros(size), costs)
    for number, offer in enumerate(offers):
        best = choose_order_quantity(1, demand, offer, order_cost, costs)
        if not best.long_lasting:
            assert computed[number] == pytest.approx(best.yearly_cost, rel=1e-9)


def test_what_is_not_used_within_the_shops_years_counts_as_thrown_away() -> None:
    reel = PricedOffer((PriceBreak(1, 3.0),), pack=1000)  # 30.00 for 1000; 16 are used a year, 48 in three years
    single = PricedOffer((PriceBreak(1, 40.0),))
    costs = yearly_costs(laddered([reel, single]), np.full(2, 16.0), np.full(2, 350.0), np.zeros(2), OrderCosts())
    assert costs[0] == pytest.approx(3000 / 3 + 350 / 3 + 0.25 * 3 * 500)
    assert costs[1] < costs[0]


def test_it_charges_a_slow_supplier_with_the_stock_it_makes_necessary() -> None:
    offers = [PricedOffer((PriceBreak(1, 100.0),)), PricedOffer((PriceBreak(1, 98.0),))]
    both = laddered(offers)
    args = np.full(2, 12.0), np.full(2, 350.0)
    bare = yearly_costs(both, *args, np.zeros(2), OrderCosts())
    charged = yearly_costs(both, *args, np.array([1.0, 9.0]), OrderCosts())
    assert bare[1] < bare[0]
    assert charged[1] > charged[0]
    assert charged - bare == pytest.approx([1 * 25.0, 9 * 24.5])
