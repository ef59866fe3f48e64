"""Checks of lots that come in: how many to test, when the answer is certain, and what it says of the rest.

The share of bad pieces in a lot follows the kind's Beta(a, b), unless the lot is a bad batch: one
of which nothing is known beforehand, Beta(1, 1). One lot in twenty is taken for one (assumed). Without that, two bad
of five would be put down to chance, because so many lots before were good; with it, they tell on the lot. Whether
testing stopped early changes nothing: the likelihood of what was seen is the same.
"""

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.reckoning.common.value_checks import check_chance, check_count, check_positive
from inventory.reckoning.quality.sampling import (
    MAX_LOT_SIZE,
    acceptance_chance_in_lot,
    acceptance_chance_large_lot,
    beta_binomial,
    sample_size,
)

BAD_BATCH_SHARE = (
    0.05  # assumed: share of lots that are nothing like their kind; common practice, no published source
)
CONFIDENCE_LEVEL = 0.9
MAX_TESTS = 10_000_000
LARGE_LOT = 10_000  # pieces; a sample of a larger lot is as good as one of an endless supply
FRACTION_PHRASES = (
    (0.01, "about one in a hundred"),
    (0.02, "about one in fifty"),
    (1 / 30, "about one in thirty"),
    (0.05, "about one in twenty"),
    (1 / 15, "about one in fifteen"),
    (0.1, "about a tenth"),
    (1 / 8, "about an eighth"),
    (1 / 6, "about a sixth"),
    (0.2, "about a fifth"),
    (0.25, "about a quarter"),
    (1 / 3, "about a third"),
    (0.4, "about two fifths"),
    (0.5, "about half"),
    (0.6, "about three fifths"),
    (2 / 3, "about two thirds"),
    (0.75, "about three quarters"),
    (0.9, "about nine tenths"),
)


@dataclass(frozen=True, slots=True)
class SamplingPlan:
    """How many of a lot to test, and how many of those may be bad."""

    tests: int
    accept: int


def plan_from_numbers(pieces: int, test: int, accept: int = 0) -> SamplingPlan:
    """Return what "test n, accept at most c" asks of a lot of so many pieces: all of them if there are fewer."""
    check_count(pieces, "The number of pieces in the lot", minimum=1)
    check_count(test, "The number to test", minimum=1)
    if check_count(accept, "The number that may be bad") >= test:
        raise ValueError(f"Of {test} tested, {accept} may be bad: then nothing is ever found out. Accept fewer.")
    return SamplingPlan(min(test, pieces), accept)


def plan_for_confidence(pieces: int, sure: float, most_bad: float, accept: int = 0) -> SamplingPlan:
    """Return the smallest sample that makes one *sure* that at most the share *most_bad* of a lot is bad.

    Were one more bad than that, at most ``accept`` of the sample would be bad with a chance of no more than
    1 - *sure*: hypergeometric, or binomial for a lot of more than 10,000, which asks for no fewer. ``accept`` is
    lowered to what may be bad in the whole lot: more would answer nothing.
    """
    check_count(pieces, "The number of pieces in the lot", minimum=1)
    if not 0.0 < check_chance(sure, "The sureness asked for") < 1.0:
        raise ValueError("Say how sure, above 0 and below 100 %.")
    if not 0.0 < check_chance(most_bad, "The share that may be bad") < 1.0:
        raise ValueError("Say a share above 0 and below 100 % that may be bad.")
    accept = min(check_count(accept, "The number that may be bad"), int(most_bad * pieces + 1e-9))
    if pieces > LARGE_LOT:
        return SamplingPlan(min(pieces, _tests_for_large_lot(most_bad, sure, accept)), accept)
    return SamplingPlan(sample_size(pieces, most_bad, sure, accept), accept)


def _tests_for_large_lot(most_bad: float, sure: float, accept: int) -> int:
    risk = 1.0 - sure + 1e-12
    return bisect_left(
        range(MAX_TESTS), True, accept + 1, key=lambda n: acceptance_chance_large_lot(n, accept, most_bad) <= risk
    )


def acceptance_verdict(sample: SamplingPlan, tested: int, bad: int, *, sort_all: bool = False) -> str:
    """Return "accept" or "reject" as soon as it is certain whatever else is tested, else "".

    *every*: each one is sorted, good or bad, so it is over when all are tested, and what is left is good.
    """
    if check_count(bad, "The number bad") > check_count(tested, "The number tested"):
        raise ValueError(f"{bad} cannot be bad of {tested} tested.")
    if sort_all:
        return "accept" if tested >= sample.tests else ""
    if bad > sample.accept:
        return "reject"
    cannot_fail = tested > 0 and bad + max(0, sample.tests - tested) <= sample.accept
    return "accept" if cannot_fail else ""


def acceptance_chance(pieces: int, share_bad: float, sample: SamplingPlan) -> float:
    """Return the chance that a lot with this share bad passes (hypergeometric; binomial if it is large)."""
    bad = round(check_chance(share_bad, "The share that is bad") * pieces)
    if pieces > LARGE_LOT:
        return acceptance_chance_large_lot(sample.tests, sample.accept, share_bad)
    return acceptance_chance_in_lot(pieces, bad, sample.tests, sample.accept)


@dataclass(frozen=True, slots=True)
class LotEstimate:
    """What a check says of the untested rest: between ``low`` and ``high`` bad with the chance ``level``."""

    rest: int
    mean_bad: float
    share: float  # of the rest, expected bad: also the chance that the next one is
    low: int
    high: int
    p_all_good: float
    p_bad_batch: float
    level: float
    chances: NDArray[np.float64]


def estimate_rest(
    pieces: int,
    tested: int,
    bad: int,
    a: float,
    b: float,
    *,
    bad_batch: float = BAD_BATCH_SHARE,
    level: float = CONFIDENCE_LEVEL,
) -> LotEstimate:
    """Return what *bad* of *tested* say of the other pieces of a lot: a mixture of two beta-binomials.

    One part has the kind's Beta(a, b), the other, with the weight *bad_batch* beforehand, Beta(1, 1); each is
    weighed by how well it foretold what was seen. With *bad_batch* 0 it is the kind's beta-binomial alone: the answer
    of Bayes' rule over every number of bad pieces in the lot, with the exact hypergeometric chance of the sample.
    """
    if (
        not 0
        <= check_count(bad, "The number bad")
        <= check_count(tested, "The number tested")
        <= check_count(pieces, "The lot")
    ):
        raise ValueError(f"{bad} bad of {tested} tested cannot come out of a lot of {pieces}.")
    if pieces > MAX_LOT_SIZE:
        raise ValueError(f"A lot of {pieces} pieces is too large to work out exactly; split it below {MAX_LOT_SIZE}.")
    check_positive(a, "The prior's a"), check_positive(b, "The prior's b")
    odds = check_chance(bad_batch, "The share of bad batches") / (
        tested + 1
    )  # under Beta(1, 1) all numbers are as likely
    usual = (1.0 - bad_batch) * float(beta_binomial(tested, a, b)[bad])
    batch = odds / (odds + usual) if odds else 0.0
    rest = pieces - tested
    chances = (1.0 - batch) * beta_binomial(rest, a + bad, b + tested - bad)
    chances = chances + batch * beta_binomial(rest, 1.0 + bad, 1.0 + tested - bad)
    share = (1.0 - batch) * (a + bad) / (a + b + tested) + batch * (1.0 + bad) / (2.0 + tested)
    low, high = _central_interval(chances, level)
    return LotEstimate(rest, rest * share, share, low, high, float(chances[0]), batch, level, chances)


def _central_interval(chances: NDArray[np.float64], level: float) -> tuple[int, int]:
    """Return the equal-tailed interval that holds a number with at least the chance *level*."""
    tail = (1.0 - check_chance(level, "The sureness asked for")) / 2.0
    cumulative = np.cumsum(chances)
    last = len(chances) - 1
    return min(last, int(np.searchsorted(cumulative, tail, "right"))), min(
        last, int(np.searchsorted(cumulative, 1.0 - tail - 1e-12))
    )


def fraction_text(share: float) -> str:
    """Return a share in words: "about a third"."""
    if share < 0.007:
        return "next to none"
    if share > 0.95:
        return "nearly all"
    # nearest by odds, so that small shares are told apart as finely as large ones
    return min(FRACTION_PHRASES, key=lambda phrase: abs(_log_odds(phrase[0]) - _log_odds(share)))[1]


def _log_odds(share: float) -> float:
    return float(np.log(share / (1.0 - share)))
