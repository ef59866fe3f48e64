"""How many of a lot to test, and what a result says about the rest. Exact sums, no simulation.

Before anything is tested, the share of bad pieces follows the kind's Beta(a, b). After c bad of n tested, the
number bad among the N - n others is beta-binomial(N - n, a + c, b + n - c): the same answer as Bayes' rule over
every possible number of bad pieces in the lot with the exact hypergeometric chance of the sample.
"""

from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtr, betaincinv, betaln, gammaln

from inventory.reckoning.common.value_checks import check_chance, check_count, check_positive
from inventory.reckoning.proof.standing import chance_text

MAX_LOT_SIZE = 100_000


@dataclass(frozen=True, slots=True)
class RestOfLot:
    """What is known of the untested rest of a lot."""

    pieces: int
    p_next_good: float  # chance that the next piece out of the lot is good
    p_all_good: float
    mean_bad: float
    most_bad: int  # with the chance asked for, no more than this many of the rest are bad
    share_below: float  # with the same chance, the supply's share of bad pieces is below this
    chances: NDArray[np.float64]  # chance of 0, 1, 2, ... bad among the rest


@dataclass(frozen=True, slots=True)
class DefectRate:
    """A dead-on-arrival rate with its uncertainty: the share lies between low and high with chance ``level``."""

    mean: float
    low: float
    high: float
    level: float
    bad: int
    tested: int


def estimate_rest_of_lot(pieces: int, tested: int, bad: int, a: float, b: float, level: float = 0.95) -> RestOfLot:
    """Return what c = ``bad`` of n = ``tested`` says about the other pieces of a lot, from a Beta(a, b) prior."""
    _check_lot(pieces, tested, bad)
    a, b = check_positive(a, "The prior's a") + bad, check_positive(b, "The prior's b") + tested - bad
    chances = beta_binomial(pieces - tested, a, b)
    most = int(np.searchsorted(np.cumsum(chances), _checked_level(level) - 1e-12))
    return RestOfLot(
        pieces=pieces - tested,
        p_next_good=b / (a + b),
        p_all_good=float(chances[0]),
        mean_bad=(pieces - tested) * a / (a + b),
        most_bad=min(most, pieces - tested),
        share_below=float(betaincinv(a, b, level)),
        chances=chances,
    )


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
    low, high, risk = 0, pieces, 1.0 - _checked_level(sure)
    while low < high:
        middle = (low + high) // 2
        if middle and acceptance_chance_in_lot(pieces, first_too_many, middle, accept) <= risk + 1e-12:
            high = middle
        else:
            low = middle + 1
    return low


def sample_size_from_prior(pieces: int, most_share_bad: float, sure: float, a: float, b: float) -> int:
    """Return the fewest pieces that, all found good, make one ``sure`` given the kind's Beta(a, b) prior.

    Sure, that is, that at most ``most_share_bad`` of the whole lot are bad. 0 if the prior alone says so.
    """
    _check_lot(pieces, 0, 0)
    _checked_level(sure)
    allowed = int(check_chance(most_share_bad, "The share that may be bad") * pieces + 1e-9)
    low, high = 0, pieces
    while low < high:
        middle = (low + high) // 2
        rest = estimate_rest_of_lot(pieces, middle, 0, a, b)
        if float(rest.chances[: allowed + 1].sum()) >= sure - 1e-12:
            high = middle
        else:
            low = middle + 1
    return low


def rest_of_lot_text(pieces: int, tested: int, bad: int, a: float, b: float) -> str:
    """Return what a check of a lot says about the rest of it, as two short sentences."""
    rest = estimate_rest_of_lot(pieces, tested, bad, a, b)
    found = f"{bad} of {tested} tested {'was' if bad == 1 else 'were'} bad"
    if tested == 0:
        found = "None has been tested"
    if rest.pieces == 0:
        return f"{found}; there is no untested rest."
    return (
        f"{found}. Expect about {_approximate_text(rest.mean_bad)} of the other {rest.pieces} to be bad "
        f"({chance_text(rest.mean_bad / rest.pieces)}); the chance that all of them are good is "
        f"{chance_text(rest.p_all_good)}, and it is 95 % sure that no more than {rest.most_bad} are bad."
    )


def _approximate_text(number: float) -> str:
    return f"{number:.0f}" if number >= 10 else f"{number:.1f}".removesuffix(".0")


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
