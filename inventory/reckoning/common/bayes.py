"""Bayes' rule for one thing that is good or bad, and what one observation says about it."""

import math

from inventory.reckoning.common.value_checks import chance

MASK = 0.02  # assumed: P(unit seen working although something fitted is bad)
MISREAD = 0.01  # assumed: P(unit seen failing although everything fitted is good)


def revise(p_good: float, if_good: float, if_bad: float) -> float:
    """Return P(good) after an observation of chance ``if_good`` from a good and ``if_bad`` from a bad thing.

    Raises ValueError if the observation was impossible either way.
    """
    good = p_good * if_good
    bad = (1.0 - p_good) * if_bad
    if good + bad <= 0.0:
        raise ValueError(
            "These observations contradict each other: what was seen cannot come from a good piece "
            "nor from a bad one. Look for an entry that was logged by mistake."
        )
    return good / (good + bad)


def proof_likelihoods(passed: bool, sens: float, spec: float) -> tuple[float, float]:
    """Return (P(result | good), P(result | bad)); ``sens`` = P(fails | bad), ``spec`` = P(passes | good)."""
    chance(sens, "The sensitivity")
    chance(spec, "The specificity")
    return (spec, 1.0 - sens) if passed else (1.0 - spec, sens)


def swap_likelihoods(works: bool, a: float, mask: float = MASK, misread: float = MISREAD) -> tuple[float, float]:
    """Return (P(result | spare good), P(result | spare bad)) of one swap test.

    ``a`` = P(everything else good | the rest of the log).
    """
    chance(a, "The chance that everything else is good")
    chance(mask, "The mask chance")
    chance(misread, "The misread chance")
    if works:
        return a * (1.0 - misread) + (1.0 - a) * mask, mask
    return a * misread + (1.0 - a) * (1.0 - mask), 1.0 - mask


def swap_ratio(works: bool, a: float, mask: float = MASK, misread: float = MISREAD) -> float:
    """Return the likelihood ratio good:bad that one swap test gives to the spare itself.

    Infinite if the result cannot come from a bad spare at all (``mask`` 0 and the unit works).
    """
    if_good, if_bad = swap_likelihoods(works, a, mask, misread)
    if if_bad == 0.0:
        return math.inf
    return if_good / if_bad
