"""Calibration: compares stated chances with what happened, and says when there are too few to tell."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from inventory.reckoning.reorder.demand import FloatArray

MIN_EXPECTED = 3.0
"""With fewer misses expected than this, none at all says nothing either way (assumed)."""

CONFIDENCE = 0.95
"""How often counts lie within the range named, when every stated chance is right."""

MAX_EXACT = 3_000
"""So many chances are added up exactly; more, by the normal curve."""


class CalibrationVerdict(StrEnum):
    """What the counts say."""

    TOO_FEW = "too few yet to say"
    AS_STATED = "as stated"
    MORE = "more often than stated"
    LESS = "less often than stated"


@dataclass(frozen=True)
class Calibration:
    """Statements, the misses they led to expect, the misses that came, and the range that chance alone explains.

    low, high: the range of misses that comes 95 times in 100 when every stated chance is right.
    enough: how many statements such as these it takes until something can be said.
    """

    statements: int
    expected: float
    came: int
    low: int
    high: int
    verdict: CalibrationVerdict
    enough: int

    @property
    def stated(self) -> float:
        """The mean stated chance of a miss; 0 without statements."""
        return self.expected / self.statements if self.statements else 0.0

    @property
    def happened(self) -> float:
        """The share of misses; 0 without statements."""
        return self.came / self.statements if self.statements else 0.0


def calibrate(chances: ArrayLike, came: int) -> Calibration:
    """Compare the misses that came with the stated chance of each (independent statements)."""
    stated = np.clip(np.atleast_1d(np.asarray(chances, float)), 0.0, 1.0)
    expected = float(stated.sum())
    low, high = _expected_range(stated)
    if came > high:
        verdict = CalibrationVerdict.MORE
    elif expected < MIN_EXPECTED - 1e-9:
        verdict = CalibrationVerdict.TOO_FEW
    else:
        verdict = CalibrationVerdict.LESS if came < low else CalibrationVerdict.AS_STATED
    enough = int(np.ceil(MIN_EXPECTED * len(stated) / expected - 1e-9)) if expected > 0 else 0
    return Calibration(len(stated), expected, came, low, high, verdict, max(enough, len(stated)))


def poisson_binomial(chances: FloatArray) -> FloatArray:
    """Return the chance of 0, 1, 2... misses among independent statements (Poisson binomial, summed exactly)."""
    distribution = np.array([1.0])
    for chance in chances:
        grown = np.append(distribution * (1 - chance), 0.0)
        grown[1:] += distribution * chance
        distribution = grown
    return distribution


def _expected_range(chances: FloatArray) -> tuple[int, int]:
    tail = (1 - CONFIDENCE) / 2
    if len(chances) > MAX_EXACT:
        spread = float(np.sqrt((chances * (1 - chances)).sum()) * -ndtri(tail)) + 0.5
        return max(0, int(np.ceil(chances.sum() - spread))), int(np.floor(chances.sum() + spread))
    below = np.cumsum(poisson_binomial(chances))
    return int(np.argmax(below > tail)), int(np.argmax(below >= 1 - tail))
