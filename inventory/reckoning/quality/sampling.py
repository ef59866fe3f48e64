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

from inventory.reckoning.common.value_checks import chance, count, positive
from inventory.reckoning.proof.standing import percent

MOST_PIECES = 100_000


@dataclass(frozen=True, slots=True)
class Rest:
    """What is known of the untested rest of a lot."""

    pieces: int
    p_next_good: float  # chance that the next piece out of the lot is good
    p_all_good: float
    mean_bad: float
    most_bad: int  # with the chance asked for, no more than this many of the rest are bad
    share_below: float  # with the same chance, the supply's share of bad pieces is below this
    chances: NDArray[np.float64]  # chance of 0, 1, 2, ... bad among the rest


@dataclass(frozen=True, slots=True)
class Rate:
    """A dead-on-arrival rate with its uncertainty: the share lies between low and high with chance ``level``."""

    mean: float
    low: float
    high: float
    level: float
    bad: int
    tested: int


def rest_of_lot(pieces: int, tested: int, bad: int, a: float, b: float, level: float = 0.95) -> Rest:
    """Return what c = ``bad`` of n = ``tested`` says about the other pieces of a lot, from a Beta(a, b) prior."""
    _lot(pieces, tested, bad)
    a, b = positive(a, "The prior's a") + bad, positive(b, "The prior's b") + tested - bad
    chances = beta_binomial(pieces - tested, a, b)
    most = int(np.searchsorted(np.cumsum(chances), _level(level) - 1e-12))
    return Rest(
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


def dead_on_arrival(bad: int, tested: int, a: float, b: float, level: float = 0.9) -> Rate:
    """Return a supplier's or part's share of bad pieces, with the equal-tailed interval of its Beta posterior."""
    _lot(tested, tested, bad)
    a, b = positive(a, "The prior's a") + bad, positive(b, "The prior's b") + tested - bad
    tail = (1.0 - _level(level)) / 2.0
    low, high = float(betaincinv(a, b, tail)), float(betaincinv(a, b, 1.0 - tail))
    return Rate(a / (a + b), low, high, level, bad, tested)


def accept_chance(tested: int, accept: int, share_bad: float) -> float:
    """Return the chance that a plan (test n, accept at most c bad) passes a large lot with this share bad.

    Binomial; the plan n = 52, c = 3 is worked in the NIST/SEMATECH e-Handbook of Statistical Methods, section on
    acceptance sampling.
    """
    _plan(tested, accept)
    return float(bdtr(accept, tested, chance(share_bad, "The share that is bad"))) if accept < tested else 1.0


def accept_chance_in_lot(pieces: int, bad: int, tested: int, accept: int) -> float:
    """Return the chance that a plan passes a lot of this many pieces with this many bad ones (hypergeometric)."""
    _lot(pieces, tested, 0)
    _plan(tested, accept)
    if count(bad, "The number bad") > pieces:
        raise ValueError(f"{bad} cannot be bad in a lot of {pieces}.")
    ways = sum(comb(bad, k) * comb(pieces - bad, tested - k) for k in range(min(accept, bad, tested) + 1))
    return ways / comb(pieces, tested)


def pieces_to_test(pieces: int, most_share_bad: float, sure: float, accept: int = 0) -> int:
    """Return the fewest pieces to test so that a lot with more than ``most_share_bad`` bad seldom passes.

    "Test n of these to be 90 % sure that at most 5 % are bad": if more than that were bad, at most ``accept`` bad
    would turn up among n with a chance of no more than 1 - ``sure``, whatever was believed before. All of the lot
    if nothing less will do.
    """
    _lot(pieces, 0, 0)
    count(accept, "The number accepted")
    first_too_many = int(chance(most_share_bad, "The share that may be bad") * pieces + 1e-9) + 1
    if first_too_many > pieces:
        return 0
    low, high, risk = 0, pieces, 1.0 - _level(sure)
    while low < high:
        middle = (low + high) // 2
        if middle and accept_chance_in_lot(pieces, first_too_many, middle, accept) <= risk + 1e-12:
            high = middle
        else:
            low = middle + 1
    return low


def pieces_to_test_from(pieces: int, most_share_bad: float, sure: float, a: float, b: float) -> int:
    """Return the fewest pieces that, all found good, make one ``sure`` given the kind's Beta(a, b) prior.

    Sure, that is, that at most ``most_share_bad`` of the whole lot are bad. 0 if the prior alone says so.
    """
    _lot(pieces, 0, 0)
    _level(sure)
    allowed = int(chance(most_share_bad, "The share that may be bad") * pieces + 1e-9)
    low, high = 0, pieces
    while low < high:
        middle = (low + high) // 2
        rest = rest_of_lot(pieces, middle, 0, a, b)
        if float(rest.chances[: allowed + 1].sum()) >= sure - 1e-12:
            high = middle
        else:
            low = middle + 1
    return low


def rest_in_words(pieces: int, tested: int, bad: int, a: float, b: float) -> str:
    """Return what a check of a lot says about the rest of it, as two short sentences."""
    rest = rest_of_lot(pieces, tested, bad, a, b)
    found = f"{bad} of {tested} tested {'was' if bad == 1 else 'were'} bad"
    if tested == 0:
        found = "None has been tested"
    if rest.pieces == 0:
        return f"{found}; there is no untested rest."
    return (
        f"{found}. Expect about {_about(rest.mean_bad)} of the other {rest.pieces} to be bad "
        f"({percent(rest.mean_bad / rest.pieces)}); the chance that all of them are good is "
        f"{percent(rest.p_all_good)}, and it is 95 % sure that no more than {rest.most_bad} are bad."
    )


def _about(number: float) -> str:
    return f"{number:.0f}" if number >= 10 else f"{number:.1f}".removesuffix(".0")


def _level(level: float) -> float:
    if not 0.0 < chance(level, "The sureness asked for") < 1.0:
        raise ValueError(f"Nothing short of testing every piece is {level:.0%} sure; ask for between 0 and 100 %.")
    return level


def _plan(tested: int, accept: int) -> None:
    count(tested, "The number tested", least=1)
    count(accept, "The number accepted")


def _lot(pieces: int, tested: int, bad: int) -> None:
    count(pieces, "The number of pieces in the lot")
    count(tested, "The number tested")
    count(bad, "The number bad")
    if pieces > MOST_PIECES:
        raise ValueError(f"A lot of {pieces} pieces is too large to work out exactly; split it below {MOST_PIECES}.")
    if tested > pieces:
        raise ValueError(f"{tested} cannot be tested of a lot of {pieces}.")
    if bad > tested:
        raise ValueError(f"{bad} cannot be bad of {tested} tested.")
