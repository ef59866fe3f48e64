"""What could be done next on a job, with what it costs and what is believed of the unit: a plan, checked.

Money is in whatever unit the costs are given in. What is fitted stays fitted while the unit still fails; once it
turns out that an original was good, it is put back: its fix then costs the minutes to put it back and what a part
bought in vain does not recover, in place of the part's price.
"""

from dataclasses import dataclass

from inventory.reckoning.common.bayes import DEFAULT_MASK, DEFAULT_MISREAD
from inventory.reckoning.common.value_checks import check_amount, check_chance
from inventory.reckoning.diagnosis.case import LEAK
from inventory.reckoning.diagnosis.posterior import Belief

SPARE, ORDER, REPAIR = "spare", "order", "repair"
MAX_SUSPECTS = 14
MAX_STEPS = 100  # remedies, measurements and runs looked over at once


@dataclass(frozen=True, slots=True)
class BenchCosts:
    """What time and failure cost, in money."""

    minute: float  # bench rate a minute
    waiting_day: float
    give_up: float  # handing the unit back unmended
    come_back: float  # a unit that comes back because a fault was masked
    recovered: float = 0.5  # assumed share of its price that a part bought in vain recovers
    mask: float = DEFAULT_MASK
    misread: float = DEFAULT_MISREAD

    def __post_init__(self) -> None:
        """Refuse what is not money or not a chance."""
        check_amount(self.minute, "The bench rate a minute")
        check_amount(self.waiting_day, "The cost of a waiting day")
        check_amount(self.give_up, "The cost of giving up")
        check_amount(self.come_back, "The cost of a come-back")
        check_chance(self.recovered, "The recovered share")
        check_chance(self.mask, "The mask chance")
        check_chance(self.misread, "The misread chance")


@dataclass(frozen=True, slots=True)
class Remedy:
    """One way to put a suspect right, and run the unit: a spare from the shelf, a part to order, or a repair.

    ``bad_if_good`` and ``bad_if_bad``: chance that what is there afterwards is bad, if the suspect was good or
    bad. For a spare or a new part the two are the same, its own chance of being bad.
    """

    node: str
    how: str
    minutes: float
    bad_if_good: float
    bad_if_bad: float
    price: float = 0.0
    back_minutes: float = 0.0
    lead_days: float = 0.0
    extra: float = 0.0  # money spent in any case and never recovered, such as postage

    def __post_init__(self) -> None:
        """Refuse what is not money, time or a chance."""
        if self.how not in (SPARE, ORDER, REPAIR):
            raise ValueError(f"A remedy is one of {SPARE}, {ORDER}, {REPAIR}, not {self.how!r}.")
        for name in ("minutes", "price", "back_minutes", "lead_days", "extra"):
            check_amount(getattr(self, name), f"The {name.replace('_', ' ')} of the remedy for {self.node!r}")
        check_chance(self.bad_if_good, f"The chance that the remedy spoils a good {self.node!r}")
        check_chance(self.bad_if_bad, f"The chance that the remedy leaves {self.node!r} bad")

    def cost(self, costs: BenchCosts, was_bad: bool) -> float:
        """Return what it costs in all, knowing whether the suspect was bad."""
        work = self.minutes * costs.minute + self.extra
        if self.how == REPAIR:
            return work + self.price
        wait = self.lead_days * costs.waiting_day if self.how == ORDER else 0.0
        if was_bad:
            return work + wait + self.price
        lost = self.price * (1.0 - costs.recovered) if self.how == ORDER else 0.0
        return work + wait + lost + self.back_minutes * costs.minute


@dataclass(frozen=True, slots=True)
class Measurement:
    """A measurement of one suspect: ``sens`` = P(says bad | bad), ``spec`` = P(says good | good)."""

    node: str
    minutes: float
    sens: float
    spec: float

    def __post_init__(self) -> None:
        """Refuse what is not time or a chance."""
        check_amount(self.minutes, f"The minutes to measure {self.node!r}")
        check_chance(self.sens, f"The sensitivity of measuring {self.node!r}")
        check_chance(self.spec, f"The specificity of measuring {self.node!r}")


@dataclass(frozen=True, slots=True)
class Rerun:
    """A run of the unit with what is fitted now, such as the old ``node`` put back to confirm a swap (A-B-A)."""

    node: str
    minutes: float

    def __post_init__(self) -> None:
        """Refuse what is not time."""
        check_amount(self.minutes, f"The minutes to run the unit with the old {self.node!r}")


@dataclass(frozen=True)
class RepairPlan:
    """What is believed of the unit now, and what could be done; nodes without a step count with the leak.

    ``masks`` holds (node, its own mask) for what is fitted and whose fault comes and goes; what replaces it has
    that of ``costs``.
    """

    belief: Belief
    remedies: tuple[Remedy, ...]
    checks: tuple[Measurement, ...]
    costs: BenchCosts
    reruns: tuple[Rerun, ...] = ()
    masks: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse steps on what is not in the unit, and more suspects than can be looked over."""
        for name, mask in self.masks:
            check_chance(mask, f"The mask of {name!r}")
        nodes = self.belief.nodes
        if nodes[:1] != (LEAK,) or len(self.belief.weights) != 2 ** len(nodes):
            raise ValueError("A belief starts with the leak and has a weight for every state of its nodes.")
        for node in self.touched:
            if node not in nodes[1:]:
                known = ", ".join(nodes[1:])
                raise ValueError(f"{node!r} is not a suspect that is fitted; choose from {known}.")
        if len(self.touched) > MAX_SUSPECTS:
            raise ValueError(
                f"Advice looks over {MAX_SUSPECTS} suspects at most. Leave out the steps of the least likely."
            )
        if len(self.remedies) + len(self.checks) + len(self.reruns) > MAX_STEPS:
            raise ValueError(f"Advice looks over {MAX_STEPS} steps at most. Leave out those that cost the most.")

    @property
    def touched(self) -> set[str]:
        """Return the suspects that some step is about."""
        return {remedy.node for remedy in self.remedies} | {check.node for check in self.checks}
