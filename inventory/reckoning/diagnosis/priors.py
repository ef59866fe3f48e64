"""How likely each suspect is before anything is tried, from what closed jobs with the same complaint were.

Each suspect's share of the faults found, smoothed by a few faults more that are spread evenly, is turned into a
chance of being bad before the complaint is known: p = share x T. T, the faults that such a unit has on average
before anybody complains, sets how likely several faults at once are; the oracle cases have about as much.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.reckoning.common.value_checks import check_amount, check_chance, check_count, check_positive

SMOOTHING_FAULTS = 2.0  # assumed faults that are spread evenly, so that few jobs do not make a certainty
ELSEWHERE_SHARE = 0.10  # assumed share of those that is not on the list
FAULTS_BEFORE_COMPLAINT = 0.25  # assumed faults of a unit before the complaint is known


@dataclass(frozen=True, slots=True)
class PriorConstants:
    """The assumed figures that a shop's own jobs are mixed with."""

    faults: float = SMOOTHING_FAULTS
    elsewhere: float = ELSEWHERE_SHARE
    before: float = FAULTS_BEFORE_COMPLAINT

    def __post_init__(self) -> None:
        """Refuse figures that are no number of faults, or no chance."""
        check_positive(self.faults, "The number of smoothing faults")
        check_chance(self.elsewhere, "The share that is not on the list")
        check_chance(self.before, "The number of faults before the complaint")


@dataclass(frozen=True, slots=True)
class SuspectPriors:
    """Chances before the complaint: of each suspect, in order, and of something not on the list."""

    suspects: tuple[float, ...]
    leak: float
    shares: tuple[float, ...]  # smoothed shares of the faults, the suspects' and last that of the rest; sum 1


def suspect_priors(
    times: Sequence[int], elsewhere: int = 0, smoothing: PriorConstants | None = None
) -> SuspectPriors:
    """Return the priors of suspects of which each was at fault so many ``times``; without any, all are equal.

    ``elsewhere``: how often it was something not on the list. Raises ValueError without a suspect, or for counts
    that are none.
    """
    if not times:
        raise ValueError("Name at least one suspect before asking how likely it is.")
    seen = [check_count(time, "The number of times that it was this suspect") for time in times]
    rest = check_count(elsewhere, "The number of times that it was something else")
    constants = smoothing or PriorConstants()
    all_faults = sum(seen) + rest + check_amount(constants.faults, "The number of smoothing faults")
    even = constants.faults * (1.0 - constants.elsewhere) / len(seen)
    shares = [(number + even) / all_faults for number in seen]
    shares.append((rest + constants.faults * constants.elsewhere) / all_faults)
    chances = [share * constants.before for share in shares]
    return SuspectPriors(tuple(chances[:-1]), chances[-1], tuple(shares))


def smoothed_share(times: int, of: int, mean: float, weight: float) -> float:
    """Return the share that ``times`` is ``of``, mixed with ``weight`` cases in which it was ``mean``."""
    number = check_count(of, "The number of cases")
    if check_count(times, "The number of times") > number:
        raise ValueError(f"{times} cannot be so often of {number}.")
    extra = check_positive(weight, "The weight of what is assumed")
    return (times + check_chance(mean, "The assumed share") * extra) / (number + extra)
