"""Demand against independent ways to the same sums: scipy's distributions, Panjer's recursion, and quadrature."""

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, special, stats

from inventory.reckoning.common.time_units import DAYS_PER_MONTH
from inventory.reckoning.reorder.compound_demand import demand_chances, job_count_chances, month_count_chances
from inventory.reckoning.reorder.demand import DemandPosterior
from inventory.reckoning.reorder.lead_time import fixed_lead_times, learn_lead_times
from inventory.reckoning.reorder.service_level import ProtectionInterval, demand_distribution

UPTO = 25
PARTS = [
    # a, B, c, d, months: never used; used now and then; used by most jobs, many at a time.
    (1.0, 4.0, 4.0, 1.2, 1.5),
    (3.995818, 12.660275, 11.39211, 4.875552, 1.0),
    (40.0, 20.0, 60.0, 90.0, 0.7),
]


def listed(columns, upto=UPTO):
    return np.array([column[0] for column in itertools.islice(columns, upto + 1)])


def arrays(*values):
    return tuple(np.array([v]) for v in values)


def panjer(a: float, b: float, none: float, severity: np.ndarray) -> np.ndarray:
    """Sum a random number of sizes by the recursion of H. H. Panjer, ASTIN Bulletin 12 (1981).

    Counts with p(n) = p(n - 1) (a + b / n) and p(0) = none; sizes are never 0.
    """
    total = np.zeros(len(severity))
    total[0] = none
    for x in range(1, len(severity)):
        y = np.arange(1, x + 1)
        total[x] = np.sum((a + b * y / x) * severity[y] * total[x - y])
    return total


def averaged_over_sizes(c, d, total_given_p):
    """Average over p ~ Beta(c, d) by Gauss-Jacobi quadrature."""
    nodes, weights = special.roots_jacobi(60, d - 1, c - 1)
    weights = weights / weights.sum()
    return sum(w * total_given_p((1 + z) / 2) for z, w in zip(nodes, weights, strict=True))


def sizes(p):
    """Return the chances of 0, 1, 2... pieces a job: 1 + NegBin(2, p)."""
    return np.concatenate(([0.0], stats.nbinom.pmf(np.arange(UPTO), 2, p)))


@pytest.mark.parametrize(("a", "rate", "c", "d", "months"), PARTS)
def test_it_agrees_with_panjer_1981_on_the_pieces_before_a_delivery(a, rate, c, d, months):
    left = months / (rate + months)
    none = (rate / (rate + months)) ** a
    expected = averaged_over_sizes(c, d, lambda p: panjer(left, (a - 1) * left, none, sizes(p)))
    post = DemandPosterior(*arrays(a, rate, c, d))
    probabilities = listed(demand_distribution(post, np.array([months]), np.array([[1.0]])))
    assert probabilities == pytest.approx(expected, rel=1e-10, abs=1e-14)


@pytest.mark.parametrize(("a", "rate", "c", "d", "months"), PARTS)
def test_it_agrees_with_panjer_1981_on_the_pieces_up_to_and_with_the_next_job(a, rate, c, d, months):
    left = months / (rate + months)
    none = (rate / (rate + months)) ** (a + 1)

    def with_own_pieces(p):
        return np.convolve(panjer(left, a * left, none, sizes(p)), sizes(p))[: UPTO + 1]

    post = DemandPosterior(*arrays(a, rate, c, d))
    probabilities = listed(demand_distribution(post, np.array([months]), np.array([[1.0]]), next_job=True))
    assert probabilities == pytest.approx(averaged_over_sizes(c, d, with_own_pieces), rel=1e-10, abs=1e-14)


@pytest.mark.parametrize(("a", "rate", "c", "d", "months"), PARTS)
def test_it_agrees_with_scipy_on_the_jobs_of_an_interval(a, rate, c, d, months):
    probabilities = listed(job_count_chances(*arrays(a, rate), np.array([months]), np.array([[1.0]])), 12)
    expected = stats.nbinom.pmf(np.arange(len(probabilities)), a, rate / (rate + months))
    assert len(probabilities) == 13
    assert probabilities == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("alpha", "beta", "horizon"), [(5, 11, 3), (0.4, 30.2, 3), (9.5, 2.5, 12)])
def test_it_agrees_with_scipy_on_the_months_with_use(alpha, beta, horizon):
    probabilities = listed(month_count_chances(*arrays(alpha, beta), horizon), horizon)
    assert probabilities == pytest.approx(
        stats.betabinom.pmf(np.arange(horizon + 1), horizon, alpha, beta), rel=1e-12
    )


@pytest.mark.parametrize("c", [4.0, 37.5])
def test_it_agrees_with_scipy_on_the_sizes_of_a_known_number_of_jobs(c):
    """For K jobs the extra pieces are beta-negative-binomial: NegBin(2K, p) averaged over p ~ Beta(c, d)."""
    d, jobs = 3.3, 4
    only_four = iter([np.array([float(n == jobs)]) for n in range(jobs + 1)])
    probabilities = listed(demand_chances(only_four, *arrays(c, d), 2.0))
    for x in range(jobs, UPTO):
        expected, _ = integrate.quad(
            lambda p, y=x - jobs: stats.nbinom.pmf(y, 2 * jobs, p) * stats.beta.pdf(p, c, d), 0, 1, epsabs=1e-13
        )
        assert probabilities[x] == pytest.approx(expected, rel=1e-8, abs=1e-12)
    assert probabilities[:jobs].tolist() == [0] * jobs


def test_it_mixes_lead_times_as_the_sum_over_their_days():
    times = learn_lead_times([12], [0, 0], [9, 31])
    post = DemandPosterior(*arrays(3.2, 11.0, 9.0, 4.0))
    mixed = listed(demand_distribution(post, *ProtectionInterval(times, np.array([0]), 3.0).months(np.array([0]))))
    gamma = stats.gamma(4, scale=3)
    expected = np.zeros(UPTO + 1)
    for day in range(200):
        weight = 2 * (gamma.cdf(day + 0.5) - gamma.cdf(day - 0.5)) + (day in (9, 31))
        span = ProtectionInterval(fixed_lead_times([day + 3.0]), np.array([0]))
        expected += weight / 4 * listed(demand_distribution(post, *span.months(np.array([0]))))
    # Equal but for the chance of one in a million that is laid on the last day kept.
    assert mixed == pytest.approx(expected, abs=1e-6)


def test_it_weighs_the_next_job_by_how_busy_the_part_is():
    """The next job is likelier to be of a busy part: weigh each rate by itself, and integrate."""
    a, rate, months = 1.7, 6.0, 2.0
    first = listed(job_count_chances(*arrays(a + 1, rate), np.array([months]), np.array([[1.0]])), 5)
    gamma = stats.gamma(a, scale=1 / rate)
    for jobs in range(6):
        expected, _ = integrate.quad(
            lambda x, n=jobs: x * gamma.pdf(x) * stats.poisson.pmf(n, x * months) / gamma.mean(), 0, math.inf
        )
        assert first[jobs] == pytest.approx(expected, rel=1e-7)


def test_it_counts_months_of_the_average_length():
    assert DAYS_PER_MONTH == 365.25 / 12
