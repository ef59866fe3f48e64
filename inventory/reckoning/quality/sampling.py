"""How many of a lot to test, what a plan lets through, and dead-on-arrival rates. Exact sums, no simulation."""

from bisect import bisect_left
from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtr, betaincinv, betaln, gammaln

from inventory.reckoning.common.value_checks import check_chance, check_count, check_positive

MAX_LOT_SIZE = 100_000


@dataclass(frozen=True, slots=True)
class DefectRate:
    """A dead-on-arrival rate with its uncertainty: the share lies between low and high with chance ``level``."""

    mean: float
    low: float
    high: float
    level: float
    bad: int
    tested: int


def beta_binomial(n: int, a: float, b: float) -> NDArray[np.float64]:
    """Return the chances of 0 to n bad among n pieces whose share of bad ones follows Beta(a, b)."""
    k = np.arange(n + 1)
    log_ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    chances: NDArray[np.float64] = np.exp(log_ways + betaln(a + k, b + n - k) - betaln(a, b))
    return chances


def defect_rate(bad: int, tested: int, a: float, b: float, level: float = 0.9) -> DefectRate:
    """Return a supplier's or part's share of bad pieces, with the equal-tailed interval of its Beta posterior."""
    _check_lot(tested, tested, bad)
    a, b = check_positive(a, "The prior's a") + bad, check_positive(b, "The prior's b") + tested - bad
    tail = (1.0 - _checked_level(level)) / 2.0
    low, high = float(betaincinv(a, b, tail)), float(betaincinv(a, b, 1.0 - tail))
    return DefectRate(a / (a + b), low, high, level, bad, tested)


def acceptance_chance_large_lot(tested: int, accept: int, share_bad: float) -> float:
    """Return the chance that a plan (test n, accept at most c bad) passes a large lot with this share bad.

    Binomial; the plan n = 52, c = 3 is worked in the NIST/SEMATECH e-Handbook of Statistical Methods, section on
    acceptance sampling.
    """
    _check_plan(tested, accept)
    return float(bdtr(accept, tested, check_chance(share_bad, "The share that is bad"))) if accept < tested else 1.0


def acceptance_chance_in_lot(pieces: int, bad: int, tested: int, accept: int) -> float:
    """Return the chance that a plan passes a lot of this many pieces with this many bad ones (hypergeometric)."""
    _check_lot(pieces, tested, 0)
    _check_plan(tested, accept)
    if check_count(bad, "The number bad") > pieces:
        raise ValueError(f"{bad} cannot be bad in a lot of {pieces}.")
    combinations = sum(comb(bad, k) * comb(pieces - bad, tested - k) for k in range(min(accept, bad, tested) + 1))
    return combinations / comb(pieces, tested)


def sample_size(pieces: int, most_share_bad: float, sure: float, accept: int = 0) -> int:
    """Return the fewest pieces to test so that a lot with more than ``most_share_bad`` bad seldom passes.

    "Test n of these to be 90 % sure that at most 5 % are bad": if more than that were bad, at most ``accept`` bad
    would turn up among n with a chance of no more than 1 - ``sure``, whatever was believed before. All of the lot
    if nothing less will do.
    """
    _check_lot(pieces, 0, 0)
    check_count(accept, "The number accepted")
    first_too_many = int(check_chance(most_share_bad, "The share that may be bad") * pieces + 1e-9) + 1
    if first_too_many > pieces:
        return 0
    risk = 1.0 - _checked_level(sure) + 1e-12
    return bisect_left(
        range(pieces), True, 1, key=lambda n: acceptance_chance_in_lot(pieces, first_too_many, n, accept) <= risk
    )


def _checked_level(level: float) -> float:
    if not 0.0 < check_chance(level, "The sureness asked for") < 1.0:
        raise ValueError(f"Nothing short of testing every piece is {level:.0%} sure; ask for between 0 and 100 %.")
    return level


def _check_plan(tested: int, accept: int) -> None:
    check_count(tested, "The number tested", minimum=1)
    check_count(accept, "The number accepted")


def _check_lot(pieces: int, tested: int, bad: int) -> None:
    check_count(pieces, "The number of pieces in the lot")
    check_count(tested, "The number tested")
    check_count(bad, "The number bad")
    if pieces > MAX_LOT_SIZE:
        raise ValueError(f"A lot of {pieces} pieces is too large to work out exactly; split it below {MAX_LOT_SIZE}.")
    if tested > pieces:
        raise ValueError(f"{tested} cannot be tested of a lot of {pieces}.")
    if bad > tested:
        raise ValueError(f"{bad} cannot be bad of {tested} tested.")
