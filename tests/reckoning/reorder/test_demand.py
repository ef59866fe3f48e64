"""What a part's history says: the weights, the shop's averages, and what is believed of each part."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.reorder.demand import (
    DEFAULT_CONSTANTS,
    DemandAverages,
    DemandConstants,
    age_statistics,
    demand_posterior,
    demand_statistics,
    event_history,
    history_months,
    monthly_posterior,
    monthly_statistics,
    shop_averages,
)

# Worked examples X1 to X5: each was found two independent ways before this code was written (exact fractions, and a
# simulation-free recursion of another kind), and is quoted to the digits shown.
EMPTY_SHOP = event_history([], [], [], [0.0])
NO_FADING = DemandConstants(half_life_months=math.inf)
THREE_ROWS = [[0, 1, 0, 0, 2, 0], [0, 0, 0, 3, 0, 0], [0, 0, 0, 0, 0, 0]]


def x2_history(**changes):
    """Catalogued 365 days ago by a 2-piece job; later jobs aged 10, 75, 130 and 300 days."""
    given_ = {
        "part": [0] * 5,
        "age_days": [365, 10, 75, 130, 300],
        "pieces": [2, 2, 1, 4, 1],
        "history_days": [365],
        "first_job": [True, False, False, False, False],
    }
    return event_history(**(given_ | changes))


def test_it_believes_the_worked_example_of_a_never_used_part_in_an_empty_shop():
    stats = demand_statistics(EMPTY_SHOP)
    post = demand_posterior(stats, shop_averages(stats))
    assert (post.a[0], post.B[0], post.c[0]) == (1.0, 4.0, 4.0)
    assert post.d[0] == pytest.approx(1.2, abs=1e-15)


def test_it_weighs_dated_jobs_as_the_worked_example_does():
    stats = demand_statistics(x2_history())
    assert stats.k[0] == pytest.approx(3.195818, abs=5e-7)
    assert stats.T[0] == pytest.approx(8.660275, abs=5e-7)
    assert stats.kz[0] == pytest.approx(3.696055, abs=5e-7)
    assert stats.s[0] == pytest.approx(3.825552, abs=5e-7)


def test_it_believes_the_worked_example_of_dated_jobs():
    post = demand_posterior(
        demand_statistics(x2_history()), DemandAverages(np.array([0.2]), np.array([0.7]), np.array([False]))
    )
    assert post.a[0] == pytest.approx(3.995818, abs=5e-7)
    assert post.B[0] == pytest.approx(12.660275, abs=5e-7)
    assert post.c[0] == pytest.approx(11.392110, abs=5e-7)
    assert post.d[0] == pytest.approx(4.875552, abs=5e-7)


def test_it_believes_the_worked_example_of_month_totals():
    stats = monthly_statistics([[0, 0, 2, 0, 1, 0, 0, 0, 4, 0, 0, 1]], constants=NO_FADING)
    averages = DemandAverages(np.array([1 / 4]), np.array([4 / 5]), np.array([False]))
    post = monthly_posterior(stats, averages, NO_FADING)
    assert (post.alpha[0], post.beta[0], post.c[0]) == (5, 11, 12)
    assert post.d[0] == pytest.approx(26 / 5, rel=1e-15)


@pytest.mark.parametrize(
    ("constants", "m", "e"), [(NO_FADING, 0.171053, 0.920000), (DEFAULT_CONSTANTS, 0.172823, 0.934578)]
)
def test_it_averages_the_worked_example_of_three_rows(constants, m, e):
    averages = shop_averages(monthly_statistics(THREE_ROWS, constants=constants), constants=constants)
    assert averages.m[0] == pytest.approx(m, abs=5e-7)
    assert averages.e[0] == pytest.approx(e, abs=5e-7)


def test_it_counts_an_event_today_in_full():
    stats = demand_statistics(event_history([0], [0], [3], [0]))
    assert (stats.k[0], stats.s[0], stats.kz[0], stats.T[0]) == (1, 2, 1, 0)


def test_it_takes_an_event_from_the_future_as_today():
    skewed = demand_statistics(event_history([0], [-2.5], [3], [-1]))
    assert (skewed.k[0], skewed.s[0], skewed.T[0]) == (1, 2, 0)


def test_it_halves_an_event_after_one_half_life():
    stats = demand_statistics(event_history([0], [365.25], [1], [365.25]))
    assert stats.k[0] == pytest.approx(0.5, rel=1e-14)


def test_it_leaves_out_one_off_jobs_even_the_first():
    flags = [True, False, False, True, False]
    without = demand_statistics(x2_history(one_off=flags))
    history = event_history([0] * 3, [10, 75, 300], [2, 1, 1], [365])
    for name in ("k", "s", "kz", "T"):
        assert getattr(without, name)[0] == pytest.approx(getattr(demand_statistics(history), name)[0], rel=1e-14)


def test_it_lets_the_first_job_tell_a_size_but_no_rate():
    stats = demand_statistics(event_history([0], [30], [5], [30], first_job=[True]))
    weight = 2 ** (-30 / 365.25)
    assert stats.k[0] == 0
    assert stats.kz[0] == pytest.approx(weight, rel=1e-14)
    assert stats.s[0] == pytest.approx(4 * weight, rel=1e-14)


def test_it_stretches_a_history_back_to_its_oldest_counted_job():
    stats = demand_statistics(event_history([0, 0], [400, 20], [1, 1], [100]))
    assert stats.T[0] == history_months(400)[0]


def test_it_keeps_the_parts_apart():
    both = demand_statistics(event_history([1, 0, 1], [5, 50, 500], [1, 2, 3], [100, 600]))
    alone = demand_statistics(event_history([0, 0], [5, 500], [1, 3], [600]))
    assert both.k[1] == pytest.approx(alone.k[0], rel=1e-14)
    assert both.s[1] == pytest.approx(alone.s[0], rel=1e-14)


def test_it_measures_unfaded_history_in_plain_months():
    assert history_months(365.25, NO_FADING)[0] == pytest.approx(12, rel=1e-14)


@given(
    ages=st.lists(st.floats(0, 2000), max_size=6),
    history=st.floats(0, 2000),
    passed=st.floats(0, 1000),
)
def test_it_brings_old_statistics_up_to_today_exactly(ages, history, passed):
    pieces = [1 + i for i in range(len(ages))]
    then = demand_statistics(event_history([0] * len(ages), ages, pieces, [history]))
    now = demand_statistics(
        event_history([0] * len(ages), [age + passed for age in ages], pieces, [history + passed])
    )
    moved = age_statistics(then, passed)
    for name in ("k", "s", "kz", "T"):
        assert getattr(moved, name)[0] == pytest.approx(getattr(now, name)[0], rel=1e-9, abs=1e-12)


def test_it_averages_a_large_kind_by_itself_and_a_small_one_with_the_shop():
    many = 40
    part = list(range(many))
    stats = demand_statistics(event_history(part, [10.0] * many, [1] * many, [365.0] * (many + 3)))
    averages = shop_averages(stats, kinds=[7] * many + [9] * 3)
    shop = shop_averages(stats)
    assert averages.by_kind.tolist() == [True] * many + [False] * 3
    assert averages.m[0] > shop.m[0]
    assert averages.m[-1] == shop.m[0]
    assert averages.e[-1] == shop.e[0]


def test_it_averages_a_shop_without_parts():
    stats = demand_statistics(event_history([], [], [], []))
    assert len(shop_averages(stats).m) == 0


def test_it_counts_never_used_parts_in_the_average():
    busy = event_history([0], [10], [1], [365])
    with_idle = event_history([0], [10], [1], [365, 365, 365])
    assert shop_averages(demand_statistics(with_idle)).m[0] < shop_averages(demand_statistics(busy)).m[0]


def test_it_starts_month_totals_where_a_part_starts():
    late = monthly_statistics([[0, 0, 0, 1, 0, 2]], starts=[3])
    short = monthly_statistics([[1, 0, 2]])
    for name in ("k", "s", "kz", "T"):
        assert getattr(late, name)[0] == pytest.approx(getattr(short, name)[0], rel=1e-14)


def test_it_expects_the_mean_of_what_it_believes():
    post = demand_posterior(
        demand_statistics(x2_history()), DemandAverages(np.array([0.2]), np.array([0.7]), np.array([False]))
    )
    a, rate, c, d = (float(getattr(post, name)[0]) for name in "aBcd")
    assert post.pieces_per_year()[0] == pytest.approx(12 * a / rate * (1 + 2 * d / (c - 1)), rel=1e-14)


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        ({"pieces": [2, 0, 1, 4, 1]}, "A job uses at least 1 piece"),
        ({"part": [0, 0, 0, 0, 1]}, "Each job must name one of the parts"),
        ({"part": [0, 0, 0, 0, -1]}, "Each job must name one of the parts"),
        ({"age_days": [1, 2, 3, 4, math.nan]}, "A date is missing"),
        ({"history_days": [math.inf]}, "A date is missing"),
        ({"age_days": [1, 2]}, "Give one part, one age and one number of pieces for each job."),
    ],
)
def test_it_refuses_jobs_that_cannot_be_counted(bad, sentence):
    with pytest.raises(ValueError, match=sentence):
        x2_history(**bad)


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        ({"pooling_months": 0}, "pooling_months must be above 0"),
        ({"half_life_months": -1}, "half_life_months must be above 0"),
        ({"half_life_months": math.nan}, "half_life_months must be above 0"),
        ({"size_prior": 1.0}, "size_prior must be above 1"),
    ],
)
def test_it_refuses_constants_out_of_range(bad, sentence):
    with pytest.raises(ValueError, match=sentence):
        DemandConstants(**bad)
