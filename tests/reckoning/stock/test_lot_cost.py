"""The cost of a lot follows its units to the minor unit, whatever happens to them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.stock.lot_cost import BENCH, MISSING, SCRAPPED, SHELF, SUPPLIER, LotMoney

HOLDERS = st.sampled_from([1, 2, 3, BENCH, SCRAPPED, MISSING])
MOVES = st.lists(st.tuples(HOLDERS, st.integers(-6, 6)), max_size=40)


def received(units: int, cost: int) -> LotMoney:
    lot = LotMoney(units, cost)
    lot.onto_shelf(units, SUPPLIER)
    return lot


def carried_out(lot: LotMoney, moves: list[tuple[int, int]]) -> None:
    """Carry out those moves that can be: nobody takes more than there is."""
    for holder, units in moves:
        if 0 < -units <= lot.units(SHELF) or 0 < units <= lot.units(holder):
            lot.onto_shelf(units, holder)


def test_a_hundred_in_three_parts_is_33_and_34_and_33() -> None:
    lot = received(3, 100)
    assert [-lot.onto_shelf(-1, job) for job in (1, 2, 3)] == [33, 34, 33]


@given(st.integers(1, 50), st.integers(0, 100_000), MOVES)
def test_what_all_hold_adds_up_to_the_cost(units: int, cost: int, moves: list[tuple[int, int]]) -> None:
    lot = received(units, cost)
    carried_out(lot, moves)
    assert sum(money for _, _, money in lot.holders()) == cost
    assert sum(number for _, number, _ in lot.holders()) == units
    assert all(money >= 0 for _, _, money in lot.holders())


@given(st.integers(1, 50), st.integers(0, 900), MOVES)
def test_where_the_cost_divides_evenly_every_unit_carries_the_same(
    units: int, each: int, moves: list[tuple[int, int]]
) -> None:
    lot = received(units, units * each)
    carried_out(lot, moves)
    assert all(money == number * each for _, number, money in lot.holders())


@given(st.integers(1, 200), st.integers(0, 100_000), st.data())
def test_pulls_are_never_off_by_more_than_one_from_the_even_share(units: int, cost: int, data: st.DataObject) -> None:
    lot = received(units, cost)
    while lot.units(SHELF):
        number = data.draw(st.integers(1, lot.units(SHELF)))
        money = -lot.onto_shelf(-number, 1)
        assert abs(money - Fraction(cost * number, units)) <= 1


def test_many_small_pulls_leave_no_debt_to_a_large_one() -> None:
    lot = received(200, 80)
    small = [-lot.onto_shelf(-1, 1) for _ in range(40)]
    assert (sum(small), -lot.onto_shelf(-160, 2)) == (16, 64)


@given(st.integers(2, 50), st.integers(0, 10_000), st.data())
def test_who_brings_everything_back_bears_nothing(units: int, cost: int, data: st.DataObject) -> None:
    lot = received(units, cost)
    for job in (1, 2):
        taken = data.draw(st.integers(0, lot.units(SHELF)))
        lot.onto_shelf(-taken, job)
    lot.onto_shelf(lot.units(1), 1)
    assert lot.money(1) == lot.units(1) == 0


def test_more_found_than_came_costs_nothing_and_what_was_missing_brings_its_cost_back() -> None:
    lot = received(4, 100)
    lot.onto_shelf(-1, MISSING)
    assert lot.money(MISSING) == 25
    lot.onto_shelf(3, MISSING)
    assert (lot.units(SHELF), lot.money(SHELF), lot.money(MISSING)) == (6, 100, 0)


@pytest.mark.parametrize(("units", "cost"), [(0, 5), (3, -1)])
def test_a_lot_without_units_or_with_a_cost_below_zero_is_refused(units: int, cost: int) -> None:
    with pytest.raises(ValueError, match="at least one unit"):
        LotMoney(units, cost)
