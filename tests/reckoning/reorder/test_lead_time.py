"""How long a delivery takes: what is stated, and what the deliveries seen have taught."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.reckoning.reorder.lead_time import (
    MAX_LEAD_DAYS,
    LeadTimeConstants,
    fixed_lead_times,
    learn_lead_times,
    quantile_days,
)


def chances_of(times, entry=0):
    return times.chances(np.array([entry]))[1][0]


@pytest.mark.parametrize("stated", [1, 7, 14.5, 60, 400])
def test_it_spreads_a_stated_time_as_a_gamma_distribution_over_whole_days(stated):
    days, chances = learn_lead_times([stated]).chances(np.array([0]))
    gamma = stats.gamma(4, scale=stated / 4)  # scipy, an independent route: coefficient of variation 1/2
    inside = days[:-1]
    assert chances[0][:-1] == pytest.approx(gamma.cdf(inside + 0.5) - gamma.cdf(inside - 0.5), abs=1e-12)
    assert chances[0][-1] == pytest.approx(gamma.sf(days[-1] - 0.5), abs=1e-12)
    assert chances[0][-1] < 2e-6
    assert days @ chances[0] == pytest.approx(stated, abs=0.05)


def test_it_lets_each_delivery_seen_count_half_as_much_as_the_stated_time():
    learned = chances_of(learn_lead_times([10]))
    taught = chances_of(learn_lead_times([10], [0, 0, 0], [12, 12, 20]))
    expected = 2 * learned
    expected[12] += 2
    expected[20] += 1
    assert taught == pytest.approx(expected / 5, abs=1e-15)


def test_it_trusts_many_deliveries_over_the_stated_time():
    times = learn_lead_times([5], [0] * 98, [30] * 98)
    assert chances_of(times)[30] == pytest.approx(0.98, abs=1e-3)
    assert times.mean_days()[0] == pytest.approx((2 * 5 + 98 * 30) / 100)


def test_it_has_no_wait_at_all_for_a_lead_time_of_0():
    times = learn_lead_times([0])
    assert times.support().tolist() == [1]
    assert chances_of(times).tolist() == [1.0]


def test_it_bears_a_lead_time_of_400_days():
    times = learn_lead_times([400])
    assert chances_of(times).sum() == pytest.approx(1, abs=1e-12)
    assert 1000 < times.support()[0] <= MAX_LEAD_DAYS + 1


def test_it_learns_from_a_delivery_later_than_anything_thought_possible():
    times = learn_lead_times([2], [0], [900])
    assert times.support().tolist() == [901]
    assert chances_of(times)[900] == pytest.approx(1 / 3)


def test_it_cuts_absurd_times_at_ten_years():
    assert learn_lead_times([1e9], [0], [1e12]).support().tolist() == [MAX_LEAD_DAYS + 1]


def test_it_takes_times_before_0_as_0():
    assert chances_of(learn_lead_times([-3], [0], [-1])).tolist() == [1.0]


def test_it_keeps_the_entries_apart_whatever_order_is_asked_for():
    times = learn_lead_times([3, 20, 3], [2, 0], [9, 1])
    _, together = times.chances(np.array([2, 0, 1, 2]))
    for row, entry in enumerate([2, 0, 1, 2]):
        alone = chances_of(times, entry)
        assert together[row][: len(alone)] == pytest.approx(alone, abs=1e-15)
        assert together[row][len(alone) :].sum() == 0


def test_it_says_by_which_day_most_deliveries_are_in():
    chances = fixed_lead_times([0, 1, 2, 3], [0.5, 0.3, 0.15, 0.05]).chances(np.array([0]))[1]
    assert [int(quantile_days(chances, share)[0]) for share in (0.5, 0.8, 0.9, 1.0)] == [0, 1, 2, 3]


@given(
    stated=st.lists(st.floats(0, 600), min_size=1, max_size=4),
    deliveries=st.lists(st.tuples(st.integers(0, 3), st.integers(0, 800)), max_size=8),
)
def test_it_always_gives_chances_that_sum_to_1(stated, deliveries):
    deliveries = [(entry % len(stated), days) for entry, days in deliveries]
    times = learn_lead_times(stated, [entry for entry, _ in deliveries], [days for _, days in deliveries])
    days, chances = times.chances(np.arange(len(stated)))
    assert chances.min() >= 0
    assert chances.sum(axis=1) == pytest.approx(np.ones(len(stated)), abs=1e-12)
    assert len(days) == times.support().max()


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: learn_lead_times([math.nan]), "A lead time is missing"),
        (lambda: learn_lead_times([3], [0], [math.nan]), "A lead time is missing"),
        (lambda: learn_lead_times([3], [1], [4]), "Each delivery seen must name one of the entries"),
        (lambda: learn_lead_times([3], [-1], [4]), "Each delivery seen must name one of the entries"),
        (lambda: fixed_lead_times([1, 2], [1]), "Give as many weights as days"),
        (lambda: fixed_lead_times([-1], [1]), "none of them negative"),
        (lambda: fixed_lead_times([1], [0]), "at least one weight above 0"),
        (lambda: LeadTimeConstants(prior_weight=0), "Lead time constants must be above 0"),
    ],
)
def test_it_refuses_what_makes_no_sense(call, sentence):
    with pytest.raises(ValueError, match=sentence):
        call()
