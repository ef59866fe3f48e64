"""Levels and risks: what to keep so that a promise holds, and every number behind it."""

import itertools
import math
import time
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.reckoning.common.time_units import DAYS_PER_MONTH
from inventory.reckoning.reorder.compound_demand import demand_chances, month_count_chances
from inventory.reckoning.reorder.demand import (
    DemandAverages,
    DemandConstants,
    DemandPosterior,
    MonthlyPosterior,
    demand_posterior,
    demand_statistics,
    event_history,
    shop_averages,
)
from inventory.reckoning.reorder.explanation import explain_level
from inventory.reckoning.reorder.lead_time import fixed_lead_times, learn_lead_times
from inventory.reckoning.reorder.service_level import (
    MAX_LEVEL,
    MIN_RISK,
    ProtectionInterval,
    advise_levels,
    demand_distribution,
    monthly_levels,
    stock_out_risk,
)

TARGETS = (0.90, 0.95, 0.98)
NEVER_USED = DemandPosterior(np.array([1.0]), np.array([4.0]), np.array([4.0]), np.array([1.2]))


def interval(months, weights=(1.0,), parts=1):
    return ProtectionInterval(fixed_lead_times(np.multiply(months, DAYS_PER_MONTH), weights), np.zeros(parts, int))


def order_up_to_levels(post, wait, target, next_job=False):
    return advise_levels(post, wait, target, next_job=next_job).level


def x2_posterior():
    stats = demand_statistics(
        event_history([0] * 5, [365, 10, 75, 130, 300], [2, 2, 1, 4, 1], [365], [True] + [False] * 4)
    )
    return demand_posterior(stats, DemandAverages(np.array([0.2]), np.array([0.7]), np.array([False])))


def cumulative(post, span, upto, next_job=False):
    columns = demand_distribution(post, *span.months(np.array([0])), next_job)
    return np.cumsum([column[0] for column in itertools.islice(columns, upto + 1)])


# X1 to X4: worked examples, each found two independent ways before this code was written.


def test_it_keeps_the_promise_of_x1_a_part_never_used():
    span = interval([1.5])
    assert cumulative(NEVER_USED, span, 6) == pytest.approx(
        [0.727273, 0.850317, 0.915204, 0.949160, 0.967839, 0.978690, 0.985318], abs=5e-7
    )
    assert [int(order_up_to_levels(NEVER_USED, span, target)[0]) for target in TARGETS] == [2, 4, 6]


def test_it_serves_the_next_job_of_x1_in_full():
    assert cumulative(NEVER_USED, interval([1.5]), 8, next_job=True) == pytest.approx(
        [0, 0.328118, 0.564809, 0.715214, 0.808835, 0.867851, 0.905996, 0.931366, 0.948721], abs=5e-7
    )


def test_it_keeps_the_promise_of_x2_a_part_with_dated_jobs():
    post, span = x2_posterior(), interval([1.0])
    assert cumulative(post, span, 5) == pytest.approx(
        [0.738028, 0.846523, 0.915301, 0.953175, 0.973673, 0.984882], abs=5e-7
    )
    assert [int(order_up_to_levels(post, span, target)[0]) for target in TARGETS] == [2, 3, 5]


def test_it_keeps_the_promise_of_x3_an_uncertain_lead_time():
    post, span = x2_posterior(), interval([0.5, 1.0, 2.5], [0.2, 0.5, 0.3])
    assert cumulative(post, span, 6) == pytest.approx(
        [0.686349, 0.802021, 0.880783, 0.928001, 0.955913, 0.972559, 0.982632], abs=5e-7
    )
    assert [int(order_up_to_levels(post, span, target)[0]) for target in TARGETS] == [3, 4, 6]


def test_it_keeps_the_promise_of_x4_month_totals_to_the_last_digit():
    post = MonthlyPosterior(*(np.array([v]) for v in (5.0, 11.0, 12.0, 26 / 5)))
    columns = demand_chances(month_count_chances(post.alpha, post.beta, 3), post.c, post.d, post.r)
    exact = [Fraction(143, 408), Fraction(4125, 20468), Fraction(10830875, 66152576)]
    chances = [column[0] for column in itertools.islice(columns, 3)]
    assert chances == pytest.approx([float(f) for f in exact], rel=4e-15)
    assert monthly_levels(post, 3, TARGETS).level.tolist() == [[5, 6, 8]]


@st.composite
def parts(draw):
    number = st.floats(0.05, 30)
    sizes = st.floats(0.05, 10)
    post = DemandPosterior(*(np.array([draw(s)]) for s in (number, st.floats(4, 30), st.floats(4, 40), sizes)))
    stated = draw(st.floats(0, 90))
    lead_days = draw(st.lists(st.integers(0, 120), max_size=3))
    return post, learn_lead_times([stated], [0] * len(lead_days), lead_days)


def wait(times, looks=0.0):
    return ProtectionInterval(times, np.array([0]), looks)


@given(parts(), st.lists(st.floats(0.01, 0.999), min_size=2, max_size=5), st.booleans())
@settings(max_examples=60, deadline=None)
def test_it_never_keeps_less_for_a_higher_target(part, targets, next_job):
    post, times = part
    levels = [int(order_up_to_levels(post, wait(times), target, next_job)[0]) for target in sorted(targets)]
    assert levels == sorted(levels)


@given(parts(), st.floats(0.5, 0.99), st.floats(0.1, 60))
@settings(max_examples=60, deadline=None)
def test_it_never_keeps_less_for_a_longer_wait(part, target, more):
    post, times = part
    longer = learn_lead_times(times.stated_days + more, times.seen_entry, times.seen_days + math.ceil(more))
    base = order_up_to_levels(post, wait(times), target)[0]
    assert order_up_to_levels(post, wait(longer), target)[0] >= base
    assert order_up_to_levels(post, wait(times, looks=more), target)[0] >= base


@given(parts(), st.booleans())
@settings(max_examples=40, deadline=None)
def test_it_shares_out_a_chance_of_1(part, next_job):
    post, times = part
    columns = demand_distribution(post, *wait(times).months(np.array([0])), next_job)
    total, last = 0.0, 1.0
    for x, column in enumerate(columns):
        assert column[0] >= 0
        total, last = total + column[0], column[0]
        if x > 30 and last * x < 1e-8:
            break
    assert total == pytest.approx(1, abs=1e-6)


@given(parts(), st.booleans())
@settings(max_examples=40, deadline=None)
def test_it_sees_less_risk_the_more_there_is(part, next_job):
    post, times = part
    risks = [advise_levels(post, wait(times), 0.9, x, next_job).risk[0] for x in (-5, -1, 0, 1, 2, 5, 20, 500)]
    assert risks[:2] == [1, 1]
    assert all(more >= less for more, less in itertools.pairwise(risks))
    assert min(risks) >= 0


@given(parts(), st.floats(0.01, 0.999), st.booleans())
@settings(max_examples=60, deadline=None)
def test_it_chooses_the_smallest_level_that_keeps_the_promise(part, target, next_job):
    post, times = part
    advice = advise_levels(post, wait(times), target, next_job=next_job)
    level = int(advice.level[0])
    assert advice.kept[0] >= target
    assert advice.kept_below[0] < target
    assert advise_levels(post, wait(times), 0.5, level, next_job).risk[0] == pytest.approx(
        1 - advice.kept[0], abs=1e-7
    )
    assert advice.reorder_point[0] == level - 1


@given(parts(), st.floats(0.3, 0.99))
@settings(max_examples=40, deadline=None)
def test_it_asks_more_for_a_job_served_in_full_than_for_no_stock_out(part, target):
    post, times = part
    assert order_up_to_levels(post, wait(times), target, next_job=True)[0] > 0
    assert (
        order_up_to_levels(post, wait(times), target, next_job=True)[0]
        >= order_up_to_levels(post, wait(times), target)[0]
    )


def test_it_gives_each_of_many_parts_what_it_would_get_alone():
    rng = np.random.default_rng(5)
    n = 400
    post = DemandPosterior(
        rng.gamma(0.7, 3, n) + 0.1, rng.uniform(4, 20, n), rng.uniform(4, 30, n), rng.uniform(0.1, 9, n)
    )
    times = learn_lead_times(rng.choice([0, 1, 5, 30, 400], 50), rng.integers(0, 50, 90), rng.integers(0, 60, 90))
    span = ProtectionInterval(times, rng.integers(0, 50, n), 2.0)
    target, position, flag = rng.uniform(0.5, 0.99, n), rng.integers(-1, 9, n), rng.random(n) < 0.5
    together = advise_levels(post, span, target, position, flag)
    for row in range(0, n, 23):
        alone = advise_levels(post.take(row), span.take(row), target[row], position[row], flag[row])
        assert together.level[row] == alone.level[0]
        assert together.kept[row] == pytest.approx(alone.kept[0], abs=1e-12)
        assert together.risk[row] == pytest.approx(alone.risk[0], abs=1e-12)


def test_it_keeps_nothing_for_parts_that_arrive_at_once():
    now = wait(learn_lead_times([0]))
    advice = advise_levels(NEVER_USED, now, 0.95, position=0)
    assert (advice.level[0], advice.reorder_point[0], advice.risk[0]) == (0, -1, 0)
    assert order_up_to_levels(NEVER_USED, now, 0.95, next_job=True)[0] > 0


def test_it_keeps_more_for_a_lead_time_of_400_days():
    week, year = (wait(learn_lead_times([days])) for days in (7, 400))
    assert order_up_to_levels(NEVER_USED, year, 0.95)[0] > 3 * order_up_to_levels(NEVER_USED, week, 0.95)[0] > 0


def test_it_counts_the_time_between_looks_into_the_interval():
    looked = ProtectionInterval(fixed_lead_times([10.0]), np.array([0]), looks_days=5.0)
    plain = ProtectionInterval(fixed_lead_times([15.0]), np.array([0]))
    assert advise_levels(NEVER_USED, looked, 0.9).kept == pytest.approx(advise_levels(NEVER_USED, plain, 0.9).kept)


def test_it_reckons_a_part_used_by_hundreds_of_jobs_before_a_delivery():
    # 300 jobs a month for 10 months, 40 pieces each: the first chances are far below the smallest float.
    post = DemandPosterior(np.array([9000.0]), np.array([30.0]), np.array([200.0]), np.array([3900.0]))
    advice = advise_levels(replace(post, a=post.a / 25), interval([10.0]), 0.95)
    mean = 9000 / 25 / 30 * 10 * (1 + 2 * 3900 / 199)
    assert advice.level[0] == pytest.approx(1.25 * mean, rel=0.1)
    assert advice.kept[0] == pytest.approx(0.95, abs=1e-3)


def test_it_stops_looking_at_a_level_beyond_any_shelf_and_says_so():
    huge = DemandPosterior(np.array([400.0]), np.array([4.0]), np.array([60.0]), np.array([9e4]))
    advice = advise_levels(huge, interval([1.0]), 0.95, position=10**9)
    assert advice.level[0] == MAX_LEVEL
    assert advice.kept[0] < 0.95
    assert 0.05 < advice.risk[0] <= 1


@pytest.mark.parametrize("target", [1e-12, 1 - 1e-9, 1 - 1e-16])
def test_it_finds_a_level_for_targets_however_near_0_or_1(target):
    level = order_up_to_levels(NEVER_USED, interval([1.5]), target)[0]
    assert level == 0 if target < 0.5 else 100 < level < 5000


@pytest.mark.parametrize("target", [0, 1, -0.5, 1.5, math.nan, math.inf])
def test_it_refuses_a_target_that_no_stock_can_promise(target):
    sentence = "A target must lie between 0 and 1, both left out: choose a share such as 0.95."
    for ask in (order_up_to_levels, advise_levels):
        with pytest.raises(ValueError, match=sentence):
            ask(NEVER_USED, interval([1.5]), target)


def test_it_gives_risks_too_small_to_tell_as_none():
    assert stock_out_risk(3000, NEVER_USED, interval([1.5]))[0] == 0
    assert stock_out_risk(20, NEVER_USED, interval([1.5]))[0] > MIN_RISK


def test_it_advises_a_shop_without_parts():
    none = DemandPosterior(*(np.empty(0) for _ in range(4)))
    assert len(order_up_to_levels(none, interval([1.0], parts=0), 0.95)) == 0


def test_it_keeps_its_promise_on_parts_drawn_from_what_it_assumes():
    """Draw parts from the prior, let them live, advise on their history, and count how often the promise held."""
    rng = np.random.default_rng(11)
    n, days, lead = 6000, 300, 45
    constants = DemandConstants(half_life_months=math.inf)
    rate = rng.gamma(4 * 0.25, 1 / 4, n)
    p = rng.beta(4.0, 1.2, n)
    used = rng.poisson(rate * days / DAYS_PER_MONTH)
    part = np.repeat(np.arange(n), used)
    size = 1 + rng.negative_binomial(2, p[part])
    stats = demand_statistics(event_history(part, rng.uniform(0, days, len(part)), size, [days] * n), constants)
    post = demand_posterior(stats, shop_averages(stats, constants=constants), constants)
    jobs = rng.poisson(rate * lead / DAYS_PER_MONTH)
    demand = jobs + np.where(jobs > 0, rng.negative_binomial(2 * np.maximum(jobs, 1), p), 0)
    span = ProtectionInterval(fixed_lead_times([float(lead)]), np.zeros(n, int))
    for target in TARGETS:
        advice = advise_levels(post, span, target)
        achieved = np.mean(demand <= advice.level)
        assert achieved == pytest.approx(advice.kept.mean(), abs=4 * math.sqrt(0.1 * 0.9 / n))


def test_it_serves_fewer_jobs_in_full_than_it_avoids_stock_outs():
    """A level that avoids stock-outs 95 times in 100 serves only some 70 to 85 jobs in 100 in full."""
    post, span = x2_posterior(), interval([1.0])
    level = order_up_to_levels(post, span, 0.95)
    served = 1 - advise_levels(post, span, 0.95, level, next_job=True).risk[0]
    assert 0.7 < served < 0.85


def test_it_advises_10000_parts_in_well_under_a_second():
    rng = np.random.default_rng(2)
    n = 10_000
    part = np.repeat(np.arange(n), rng.poisson(rng.gamma(0.5, 0.5, n) * 36))
    times = learn_lead_times(rng.integers(1, 30, n), rng.integers(0, n, 800), rng.integers(1, 40, 800))
    start = time.perf_counter()
    size = 1 + rng.negative_binomial(2, 0.7, len(part))
    stats = demand_statistics(event_history(part, rng.uniform(0, 1095, len(part)), size, np.full(n, 1095.0)))
    post = demand_posterior(stats, shop_averages(stats))
    advice = advise_levels(post, ProtectionInterval(times, rng.permutation(n)), 0.95, rng.integers(0, 6, n))
    assert time.perf_counter() - start < 1
    assert (advice.kept >= 0.95).all()


def test_it_lays_open_every_number_behind_the_advice():
    stats = demand_statistics(
        event_history([0] * 5, [365, 10, 75, 130, 300], [2, 2, 1, 4, 1], [365], [True] + [False] * 4)
    )
    averages = DemandAverages(np.array([0.2]), np.array([0.7]), np.array([True]))
    post = demand_posterior(stats, averages)
    why = explain_level(stats, averages, post, interval([1.0]), 0, 0.95, position=2)
    assert {name: round(getattr(why, name), 6) for name in ("k", "T", "kz", "s", "m", "e", "a", "B", "c", "d")} == {
        "k": 3.195818, "T": 8.660275, "kz": 3.696055, "s": 3.825552, "m": 0.2, "e": 0.7,
        "a": 3.995818, "B": 12.660275, "c": 11.392110, "d": 4.875552,
    }  # fmt: skip
    assert (why.level, why.reorder_point, why.level_no_stock_out) == (3, 2, 3)
    assert why.cumulative[:4] == pytest.approx([0.738028, 0.846523, 0.915301, 0.953175], abs=5e-7)
    assert why.risk_of_running_dry == pytest.approx(1 - 0.915301, abs=5e-7)
    assert why.level_next_job > why.level_no_stock_out
    assert why.risk_next_job > why.risk_of_running_dry
    assert (why.months, why.by_kind) == (pytest.approx(1.0), True)
    for spread in (why.jobs, why.pieces, why.next_job_pieces):
        assert 1 - 1e-4 < spread.sum() <= 1


def test_it_explains_a_part_by_the_promise_it_is_kept_on():
    stats = demand_statistics(event_history([], [], [], [0.0]))
    averages = shop_averages(stats)
    post = demand_posterior(stats, averages)
    why = explain_level(stats, averages, post, interval([1.5]), 0, 0.9, next_job=True)
    assert (why.level, why.reorder_point) == (6, 5)
    assert why.risk_next_job == 1
    assert len(why.next_job_pieces) > why.level_next_job
