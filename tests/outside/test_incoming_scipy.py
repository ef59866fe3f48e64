"""Incoming checks against scipy.stats, and the worked plan of the NIST/SEMATECH e-Handbook."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta as beta_distribution
from scipy.stats import betabinom, binom, hypergeom

from inventory.reckoning.quality.acceptance import (
    BAD_BATCH_SHARE,
    SamplingPlan,
    acceptance_chance,
    estimate_rest,
    plan_for_confidence,
)
from inventory.reckoning.quality.sampling import defect_rate

# Single sampling plan n = 52, c = 3 at 1 .. 12 % bad: binomial, and hypergeometric in a lot of 10,000. NIST/SEMATECH
# e-Handbook of Statistical Methods, acceptance sampling; recomputed here, its table agrees to .001 from memory.
WORKED = [
    (0.01, 0.998153, 0.998236), (0.02, 0.979765, 0.980091), (0.03, 0.929537, 0.930037), (0.04, 0.845989, 0.846461),
    (0.05, 0.738317, 0.738579), (0.06, 0.619594, 0.619558), (0.07, 0.501847, 0.501521), (0.08, 0.393763, 0.393214),
    (0.09, 0.300280, 0.299599), (0.10, 0.223187, 0.222462), (0.11, 0.162066, 0.161364), (0.12, 0.115198, 0.114566),
]  # fmt: skip
QUESTIONS = [(0.9, 0.05, 0), (0.9, 0.1, 0), (0.8, 0.2, 0), (0.95, 0.1, 2), (0.99, 0.01, 1), (0.9, 0.25, 1)]


@pytest.mark.parametrize(("share", "large", "of_ten_thousand"), WORKED)
def test_the_worked_plan_passes_lots_as_often_as_the_handbook_says(
    share: float, large: float, of_ten_thousand: float
) -> None:
    assert acceptance_chance(10**6, share, SamplingPlan(52, 3)) == pytest.approx(large, abs=5e-7)
    assert acceptance_chance(10_000, share, SamplingPlan(52, 3)) == pytest.approx(of_ten_thousand, abs=5e-7)


@pytest.mark.parametrize(("sure", "most_bad", "accept"), QUESTIONS)
@pytest.mark.parametrize("pieces", [1, 2, 5, 10, 20, 37, 50, 100, 500, 3000])
def test_the_sample_is_the_smallest_that_answers_the_question(
    pieces: int, sure: float, most_bad: float, accept: int
) -> None:
    plan = plan_for_confidence(pieces, sure, most_bad, accept)
    allowed = int(most_bad * pieces + 1e-9)
    assert plan.accept == min(accept, allowed)
    one_more = hypergeom(pieces, allowed + 1, np.arange(pieces + 1))
    enough = np.flatnonzero(one_more.cdf(plan.accept) <= 1 - sure + 1e-12)
    assert plan.tests == (enough[0] if len(enough) else pieces)


@pytest.mark.parametrize(("sure", "most_bad", "accept"), QUESTIONS)
def test_a_lot_too_large_to_matter_is_asked_for_what_the_binomial_says(
    sure: float, most_bad: float, accept: int
) -> None:
    numbers = np.arange(accept + 1, 2000)
    expected = numbers[np.flatnonzero(binom.cdf(accept, numbers, most_bad) <= 1 - sure + 1e-12)[0]]
    assert plan_for_confidence(50_000, sure, most_bad, accept).tests == expected


@pytest.mark.parametrize(("a", "b"), [(0.5, 49.5), (0.5, 24.5), (1.0, 32.0)])
@pytest.mark.parametrize(("pieces", "tested", "bad"), [(20, 5, 2), (20, 5, 0), (50, 13, 1), (10, 10, 3), (7, 0, 0)])
def test_what_it_says_of_the_rest_is_bayes_over_every_possible_lot(
    pieces: int, tested: int, bad: int, a: float, b: float
) -> None:
    """Prior over all numbers bad in the lot, mixed of both kinds of lot; times the exact chance of the sample."""
    in_lot = np.arange(pieces + 1)
    prior = (1 - BAD_BATCH_SHARE) * betabinom.pmf(in_lot, pieces, a, b) + BAD_BATCH_SHARE / (pieces + 1)
    weights = prior * hypergeom.pmf(bad, pieces, in_lot, tested)
    rest = (weights / weights.sum())[bad : bad + pieces - tested + 1]
    estimate = estimate_rest(pieces, tested, bad, a, b)
    assert estimate.chances == pytest.approx(rest, abs=1e-11)
    assert estimate.mean_bad == pytest.approx(float(rest @ np.arange(len(rest))), abs=1e-9)
    whole = np.cumsum(rest)
    assert (estimate.low, estimate.high) == (
        int(np.argmax(whole > 0.05 + 1e-12)), min(len(rest) - 1, int(np.argmax(whole >= 0.95 - 1e-9)))
    )  # fmt: skip


@pytest.mark.parametrize(("bad", "tested"), [(0, 20), (1, 39), (4, 14), (0, 158)])
def test_the_interval_of_a_suppliers_rate_is_that_of_its_beta(bad: int, tested: int) -> None:
    rate = defect_rate(bad, tested, 0.5, 0.5, 0.9)
    expected = beta_distribution.interval(0.9, 0.5 + bad, 0.5 + tested - bad)
    assert (rate.low, rate.high) == pytest.approx(expected, rel=1e-9)
