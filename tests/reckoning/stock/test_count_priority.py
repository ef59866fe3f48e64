"""Which bins to count first: what is at stake, how likely the book is wrong; which differences are surprises."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from inventory.reckoning.stock.count_priority import (
    PRIOR_MOVEMENTS,
    PRIOR_SLIPS,
    SLIPS_PER_MONTH,
    BinCountHistory,
    chance_record_wrong,
    needs_recount,
    rank_bins,
)

CALM = BinCountHistory(1, 5000.0, moves=10, days=30.0)


def test_the_chance_is_the_poisson_one_averaged_over_the_gamma_rate() -> None:
    past = BinCountHistory(1, 0.0, moves=40, days=91.0, past_counts=3, past_moves=60, past_wrong=2)
    rate = stats.gamma(PRIOR_SLIPS + 2, scale=1 / (PRIOR_MOVEMENTS + 60))
    right, _ = integrate.quad(lambda slips: rate.pdf(slips) * math.exp(-slips * 40), 0, 1)
    assert chance_record_wrong(past) == pytest.approx(1 - right * math.exp(-SLIPS_PER_MONTH * 91 / 30.4375), abs=1e-9)


def test_a_bin_counted_just_now_is_right() -> None:
    assert chance_record_wrong(BinCountHistory(1, 0.0, moves=0, days=0.0)) == 0.0


@given(st.integers(0, 500), st.floats(0, 2000), st.integers(0, 200), st.integers(0, 20))
def test_doubt_grows_with_movements_time_and_past_differences(
    moves: int, days: float, before: int, wrong: int
) -> None:
    past = BinCountHistory(1, 100.0, moves, days, past_counts=wrong, past_moves=before, past_wrong=wrong)
    now = chance_record_wrong(past)
    assert 0.0 <= now <= 1.0
    assert chance_record_wrong(replace(past, moves=moves + 5)) >= now
    assert chance_record_wrong(replace(past, days=days + 50)) >= now
    assert chance_record_wrong(replace(past, past_wrong=wrong + 1)) >= now
    assert chance_record_wrong(replace(past, past_moves=before + 50)) <= now


def test_more_value_is_counted_first_and_a_likelier_slip_next() -> None:
    dear = replace(CALM, key=2, value_minor=90_000.0)
    busy = replace(CALM, key=3, moves=200)
    assert [bin_.past.key for bin_ in rank_bins([CALM, busy, dear], 1200.0)] == [2, 3, 1]


def test_a_bin_of_unknown_value_still_has_something_at_stake() -> None:
    assert rank_bins([replace(CALM, value_minor=0.0)], 1200.0)[0].at_stake > 0


def test_it_says_why() -> None:
    past = BinCountHistory(1, 0.0, moves=12, days=41.2, past_counts=4, past_moves=80, past_wrong=1)
    words = rank_bins([past], 0.0)[0].words
    assert words.startswith("41 days since it was counted, 12 movements since; 1 of 4 counts found a difference: ")
    assert rank_bins([CALM], 0.0)[0].words.startswith("never counted, 10 movements: ")


@pytest.mark.parametrize(
    ("booked", "counted", "unit", "bulk", "surprise"),
    [
        (10, 10, None, False, False),
        (10, 9, None, False, False),
        (10, 8, None, False, True),
        (100, 95, None, False, False),
        (100, 94, None, False, True),
        (0, 1, None, False, False),
        (0, 2, None, False, True),
        (10, 9, 999.0, False, False),
        (10, 9, 1000.0, False, True),
        (500, 420, None, True, False),
        (500, 390, None, True, True),
    ],
)
def test_a_difference_beyond_the_usual_is_counted_again(
    booked: int, counted: int, unit: float | None, bulk: bool, surprise: bool
) -> None:
    assert needs_recount(booked, counted, unit, bulk=bulk) is surprise
