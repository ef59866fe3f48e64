"""Lot arithmetic against scipy.stats, which the product itself never imports (it is slow to load)."""

import subprocess
import sys

import numpy as np
import pytest
from scipy.stats import beta as beta_distribution
from scipy.stats import betabinom, binom, hypergeom

from inventory.reckoning.quality.acceptance import estimate_rest
from inventory.reckoning.quality.sampling import (
    acceptance_chance_in_lot,
    acceptance_chance_large_lot,
    beta_binomial,
    defect_rate,
)

PRIORS = [(0.5, 24.5), (0.5, 49.5), (1.0, 32.0), (1.0, 1.0), (3.0, 7.0)]
SAMPLES = [(20, 5, 0), (20, 5, 1), (50, 13, 2), (200, 52, 3), (10, 10, 0), (10, 0, 0), (7, 6, 6)]


@pytest.mark.parametrize(("a", "b"), PRIORS)
@pytest.mark.parametrize(("pieces", "tested", "bad"), SAMPLES)
def test_it_agrees_with_the_exact_bayes_sum_over_every_possible_lot(pieces, tested, bad, a, b):
    """Bayes' rule over D bad in the lot, with hypergeometric chances of the sample: no beta-binomial remainder."""
    in_lot = np.arange(pieces + 1)
    weights = betabinom.pmf(in_lot, pieces, a, b) * hypergeom.pmf(bad, pieces, in_lot, tested)
    weights /= weights.sum()
    rest = weights[bad : bad + pieces - tested + 1]
    assert estimate_rest(pieces, tested, bad, a, b, bad_batch=0).chances == pytest.approx(rest, abs=1e-11)


@pytest.mark.parametrize(("a", "b"), PRIORS)
@pytest.mark.parametrize("n", [0, 1, 8, 300])
def test_its_beta_binomial_agrees(n, a, b):
    assert beta_binomial(n, a, b) == pytest.approx(betabinom.pmf(np.arange(n + 1), n, a, b), abs=1e-11)


@pytest.mark.parametrize(("tested", "accept"), [(52, 3), (5, 0), (13, 1), (3, 3)])
def test_its_plans_agree(tested, accept):
    for share in (0.0, 0.01, 0.05, 0.3, 1.0):
        assert acceptance_chance_large_lot(tested, accept, share) == pytest.approx(
            binom.cdf(accept, tested, share), abs=1e-12
        )
    for pieces in (60, 500):
        for bad in (0, 1, 7, 60):
            expected = hypergeom.cdf(accept, pieces, bad, tested)
            assert acceptance_chance_in_lot(pieces, bad, tested, accept) == pytest.approx(expected, abs=1e-11)


@pytest.mark.parametrize(("bad", "tested"), [(0, 0), (1, 20), (8, 400)])
def test_its_interval_agrees(bad, tested):
    rate = defect_rate(bad, tested, 0.5, 24.5, level=0.8)
    expected = beta_distribution.interval(0.8, 0.5 + bad, 24.5 + tested - bad)
    assert (rate.low, rate.high) == pytest.approx(expected, rel=1e-9)


def test_it_does_not_load_scipy_stats():
    modules = ("quality.sampling", "proof.standing", "diagnosis.next_step", "reorder.service_level")
    load = f"import sys, {', '.join(f'inventory.reckoning.{module}' for module in modules)}"
    ask = f"{load}; print('scipy.stats' in sys.modules)"
    result = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert result.stdout == "False\n"
