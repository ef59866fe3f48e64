"""How many to order: packs, minimum, price breaks."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.reorder.order_quantity import (
    OrderCosts,
    PriceBreak,
    PricedOffer,
    choose_order_quantity,
    economic_order_quantity,
    round_up_to_packs,
    yearly_cost,
    yearly_cost_at_price,
    years_of_use,
)

COSTS = OrderCosts(line_cost=200, holding_share=0.25, most_years=3)


def offer(*breaks, pack=1, minimum=1):
    return PricedOffer(tuple(PriceBreak(*step) for step in breaks or [(1, 100.0)]), pack, minimum)


def test_it_finds_the_quantity_of_harris_1913_on_round_numbers():
    # Harris 1913: Q = sqrt(2 D K / h) with D 1,200 a year, K 10, h 2.4 is 100, and costs 240 a year.
    assert float(economic_order_quantity(1200, 10, 2.4)) == 100
    assert float(yearly_cost_at_price(100, 1200, 0, 10, 2.4)) == 240


def test_it_finds_harris_quantities_of_many_parts_at_once():
    assert economic_order_quantity([1200, 0, 300], 10, [2.4, 1, 0]).tolist() == [100, 0, math.inf]


@given(st.floats(1, 1e4), st.floats(1, 1e4), st.floats(0.01, 1e3), st.floats(0.2, 5))
def test_it_finds_no_quantity_cheaper_than_harris(demand, order, holding, factor):
    best = economic_order_quantity(demand, order, holding)
    at_best = yearly_cost_at_price(best, demand, 0, order, holding)
    assert yearly_cost_at_price(best * factor, demand, 0, order, holding) >= at_best * (1 - 1e-12)


@st.composite
def offers(draw):
    steps = sorted(draw(st.sets(st.integers(1, 60), min_size=1, max_size=4)))
    # Prices mostly fall with quantity, but nothing says that a supplier's list must make sense.
    prices = draw(st.lists(st.integers(0, 500), min_size=len(steps), max_size=len(steps)))
    return offer(*zip(steps, prices, strict=True), pack=draw(st.integers(1, 12)), minimum=draw(st.integers(1, 30)))


@given(offers(), st.integers(1, 40), st.floats(0.1, 60), st.floats(0, 3000))
def test_it_orders_the_cheapest_of_all_quantities(what, need, demand, order_cost):
    """Compare with every quantity of whole packs that covers the need, up to what the shop's limit allows."""
    least = next(
        q
        for q in range(what.pack, 1000, what.pack)
        if q >= need and q >= what.minimum and q >= what.breaks[0].from_pieces
    )
    limit = max(least, int(COSTS.most_years * demand))
    every = range(least, limit + 1, what.pack)
    cheapest = min(yearly_cost(q, demand, what, order_cost, COSTS) for q in every)
    choice = choose_order_quantity(need, demand, what, order_cost, COSTS)
    assert choice.pieces in every
    assert choice.yearly_cost == pytest.approx(cheapest, rel=1e-12)


@given(offers(), st.integers(0, 60), st.integers(-20, 60), st.floats(0, 60), st.floats(0, 3000))
def test_it_lifts_the_position_to_the_level_in_whole_packs_of_at_least_the_minimum(
    what, level, position, demand, order_cost
):
    need = max(1, level - position)
    choice = choose_order_quantity(need, demand, what, order_cost, COSTS)
    assert position + choice.pieces >= level
    assert choice.pieces == choice.packs * what.pack >= what.minimum
    assert choice.pieces >= what.breaks[0].from_pieces
    assert choice.goods == choice.pieces * what.unit_price(choice.pieces)


@pytest.mark.parametrize(
    ("need", "what", "demand", "order_cost", "pieces", "decided_by"),
    [
        (3, offer((1, 9000.0)), 4, 200, 3, "level"),
        (1, offer((1, 9000.0), minimum=5), 4, 200, 5, "minimum"),
        (3, offer((1, 100.0)), 100, 1000, 89, "cost"),  # sqrt(2 * 100 * 1000 / 25) = 89.4
        (3, offer((1, 100.0), (120, 90.0)), 100, 1000, 120, "price break"),
        (3, offer((1, 1.0)), 5, 5000, 15, "years of use"),
        (3, offer((1, 100.0), pack=25), 100, 1000, 100, "cost"),
    ],
)
def test_it_says_what_settled_the_quantity(need, what, demand, order_cost, pieces, decided_by):
    choice = choose_order_quantity(need, demand, what, order_cost, COSTS)
    assert (choice.pieces, choice.decided_by) == (pieces, decided_by)


def test_it_stops_short_of_a_step_where_the_price_goes_up():
    choice = choose_order_quantity(3, 60, offer((1, 10.0), (20, 1000.0)), 3000, COSTS)
    assert choice.pieces == 19


def test_it_says_that_a_pack_is_14_years_of_use():
    choice = choose_order_quantity(2, 1000 / 14, offer((1, 2.0), pack=1000), 500, COSTS)
    assert choice.pieces == 1000
    assert choice.pack_years == pytest.approx(14)
    assert choice.years_of_use == pytest.approx(14)
    assert choice.long_lasting


def test_it_does_not_warn_of_a_pack_that_is_used_within_the_limit():
    assert not choose_order_quantity(2, 50, offer((1, 2.0), pack=100), 500, COSTS).long_lasting


def test_it_orders_only_what_is_needed_of_a_part_without_any_use():
    choice = choose_order_quantity(2, 0.0, offer((1, 50.0)), 500, COSTS)
    assert choice.pieces == 2
    assert choice.years_of_use == math.inf
    assert years_of_use(5, 0) == math.inf


def test_it_orders_a_free_part_up_to_the_years_limit():
    assert choose_order_quantity(1, 10, offer((1, 0.0)), 500, COSTS).pieces == 30


def test_it_charges_the_price_of_the_quantity_ordered():
    ladder = offer((5, 30.0), (10, 25.0), (100, 12.5))
    assert [ladder.unit_price(q) for q in (4, 5, 9, 10, 99, 100)] == [math.inf, 30, 30, 25, 25, 12.5]


@given(st.integers(0, 500), st.integers(1, 60))
def test_it_rounds_up_to_whole_packs_and_no_further(pieces, pack):
    rounded = round_up_to_packs(pieces, pack)
    assert rounded % pack == 0
    assert pieces <= rounded < pieces + pack


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: offer(pack=0), "An offer needs a pack and a minimum of at least 1 piece"),
        (lambda: PricedOffer(()), "at least one price"),
        (lambda: offer((0, 5.0)), "An offer needs"),
        (lambda: offer((10, 5.0), (10, 4.0)), "Price breaks must go up"),
        (lambda: offer((10, 5.0), (1, 6.0)), "Price breaks must go up"),
        (lambda: offer((1, -5.0)), "A price cannot be negative"),
        (lambda: offer((1, math.nan)), "A price cannot be negative"),
        (lambda: OrderCosts(line_cost=-1), "Costs cannot be negative"),
        (lambda: OrderCosts(most_years=0), "Costs cannot be negative"),
    ],
)
def test_it_refuses_offers_and_costs_that_make_no_sense(call, sentence):
    with pytest.raises(ValueError, match=sentence):
        call()
