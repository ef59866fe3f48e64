"""Which step to take next: one step of lookahead over a list that is worked down by chance for money.

The list: of what is left, take the fix with the highest (chance that the unit really works after it) / (its
expected cost), until the unit is seen working or giving up is cheaper. With exactly one fault and perfect fixes
this is the p/c order, the optimum of all orders (Kadane and Simon 1977); with several independent faults it is
the order by prior odds p/(1-p)/c. The advice: E[step] = its cost + sum over outcomes of P(outcome) x (expected
cost of working down the list from there). Measured over 500 random cases of 2 to 4 suspects
(tests/reckoning/diagnosis): on average 1.004 times the cost of the exact optimum, 1.02 at the 95th percentile.

Money is in whatever unit the costs are given in. What is fitted stays fitted while the unit still fails; once it
turns out that an original was good, it is put back: its fix then costs the minutes to put it back and what a part
bought in vain does not recover, in place of the part's price.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.reckoning.common.bayes import DEFAULT_MASK, DEFAULT_MISREAD, proof_likelihoods
from inventory.reckoning.common.value_checks import check_amount, check_chance
from inventory.reckoning.diagnosis.case import LEAK
from inventory.reckoning.diagnosis.posterior import Belief, Weights

SPARE, ORDER, REPAIR = "spare", "order", "repair"
FIX, MEASURE, RERUN, GIVE_UP = "fix", "measure", "run again", "give up"
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


@dataclass(frozen=True, slots=True)
class NextStep:
    """One possible next step in money: ``total`` = ``cost_now`` + ``cost_after``."""

    action: str  # fix, measure, run again or give up
    node: str | None
    remedy: Remedy | None
    check: Measurement | None
    cost_now: float  # expected
    p_ends: float  # chance that the unit is seen working after it
    p_really: float  # chance that it is really mended after it
    cost_after: float  # expected, working down the list from there
    come_back: float  # the part of it that is for this step's mending only for show
    total: float
    rerun: Rerun | None = None


def rank_steps(plan: RepairPlan) -> list[NextStep]:
    """Return every possible next step, cheapest in expectation first; giving up is always one of them."""
    bench = _PlanArrays(plan)
    left = list(range(len(plan.remedies)))
    steps = [_fix_step(bench, index, left) for index in left]
    steps += [_measure_step(bench, check, left) for check in plan.checks]
    steps += [_rerun_step(bench, rerun, left) for rerun in plan.reruns]
    steps.append(NextStep(GIVE_UP, None, None, None, plan.costs.give_up, 0.0, 0.0, 0.0, 0.0, plan.costs.give_up))
    return sorted(steps, key=lambda step: step.total)


def repair_list_cost(plan: RepairPlan) -> float:
    """Return the expected cost of working down the list from here, without looking ahead."""
    bench = _PlanArrays(plan)
    return bench.list_cost(bench.start, list(range(len(plan.remedies))))


def plan_after(plan: RepairPlan, step: NextStep, outcome: bool) -> tuple[float, RepairPlan | None]:
    """Return the chance of an outcome of a step, and the plan from there (None if the job is over).

    ``outcome``: for a fix, whether the unit is seen working; for a measurement, whether it says bad.
    """
    bench = _PlanArrays(plan)
    if step.remedy is not None:
        tried = bench.fix(bench.start, plan.remedies.index(step.remedy))
        if outcome:
            return tried.works, None
        return 1.0 - tried.works, _conditioned_plan(plan, bench, tried.failed, step.remedy.node, None)
    if step.rerun is not None:
        seen = bench.run(bench.start, bench.mask)
        if outcome:
            return seen.works, None
        left = _conditioned_plan(plan, bench, seen.failed, None, None)
        return 1.0 - seen.works, None if left is None else replace(left, reruns=())
    if step.check is None:
        return 1.0, None
    weights = bench.measured(bench.start, step.check, outcome)
    return float(weights.sum()), _conditioned_plan(plan, bench, weights, None, step.check)


def _conditioned_plan(
    plan: RepairPlan, bench: "_PlanArrays", weights: Weights, node: str | None, check: Measurement | None
) -> RepairPlan | None:
    total = float(weights.sum())
    if total <= 0.0:
        return None
    return replace(
        plan,
        belief=Belief(bench.nodes, weights / total),
        remedies=tuple(remedy for remedy in plan.remedies if remedy.node != node),
        reruns=plan.reruns if node is None else (),
        masks=tuple(pair for pair in plan.masks if pair[0] != node),
        checks=tuple(other for other in plan.checks if other.node != node and other is not check),
    )


def _fix_step(bench: "_PlanArrays", index: int, left: Sequence[int]) -> NextStep:
    tried = bench.fix(bench.start, index)
    rest = tried.come_back + bench.list_cost(tried.failed, bench.without(left, index))
    remedy = bench.plan.remedies[index]
    return NextStep(
        action=FIX,
        node=remedy.node,
        remedy=remedy,
        check=None,
        cost_now=tried.cost,
        p_ends=tried.works,
        p_really=tried.really,
        cost_after=rest,
        come_back=tried.come_back,
        total=tried.cost + rest,
    )


def _measure_step(bench: "_PlanArrays", check: Measurement, left: Sequence[int]) -> NextStep:
    cost = check.minutes * bench.plan.costs.minute
    rest = sum(bench.list_cost(bench.measured(bench.start, check, bad), left) for bad in (True, False))
    return NextStep(MEASURE, check.node, None, check, cost, 0.0, 0.0, rest, 0.0, cost + rest)


def _rerun_step(bench: "_PlanArrays", rerun: Rerun, left: Sequence[int]) -> NextStep:
    cost = rerun.minutes * bench.plan.costs.minute
    seen = bench.run(bench.start, bench.mask)
    rest = seen.come_back + bench.list_cost(seen.failed, left)
    return NextStep(
        RERUN, rerun.node, None, None, cost, seen.works, seen.really, rest, seen.come_back, cost + rest, rerun
    )


@dataclass(frozen=True, slots=True)
class _RunOutcome:
    """A fix tried on unnormalised weights: expected amounts are masses, to be added as they are."""

    cost: float
    works: float
    really: float
    come_back: float
    failed: Weights


class _PlanArrays:
    """A plan laid out in arrays. State numbers: one bit a node, the leak the highest, 0 = all good."""

    def __init__(self, plan: RepairPlan) -> None:
        self.plan = plan
        self.nodes, self.start = _fold_into_leak(plan)
        fixes = plan.remedies
        self.bit = np.array([self._bit(fix.node) for fix in fixes], dtype=np.intp)
        self.cost_good = np.array([fix.cost(plan.costs, False) for fix in fixes])
        self.cost_bad = np.array([fix.cost(plan.costs, True) for fix in fixes])
        self.keeps_good = np.array([1.0 - fix.bad_if_good for fix in fixes])
        self.turns_good = np.array([1.0 - fix.bad_if_bad for fix in fixes])
        states = np.arange(len(self.start))
        self.is_bad: NDArray[np.float64] = ((states & self.bit[:, None]) > 0).astype(np.float64)
        self.mask = self._mask(dict(plan.masks))
        self.mask_after = [self._mask({n: m for n, m in plan.masks if n != fix.node}) for fix in fixes]

    def _mask(self, node_masks: dict[str, float]) -> Weights | float:
        """Return the mask of every state, or the one of all; of several bad things the least masked decides."""
        default = self.plan.costs.mask
        if not node_masks.keys() & set(self.nodes):
            return default
        masks: Weights = np.full(len(self.start), default)
        states = np.arange(len(self.start))
        for mask, node in sorted(((node_masks.get(node, default), node) for node in self.nodes), reverse=True):
            masks[(states & self._bit(node)) > 0] = mask
        return masks

    def _bit(self, node: str) -> int:
        return 1 << (len(self.nodes) - 1 - self.nodes.index(node))

    def without(self, left: Sequence[int], taken: int) -> list[int]:
        """Return the fixes left once one is taken: none of the same suspect."""
        return [index for index in left if self.bit[index] != self.bit[taken]]

    def measured(self, weights: Weights, check: Measurement, says_bad: bool) -> Weights:
        """Return the weights after a measurement that says bad, or good."""
        split = weights.reshape(-1, 2, self._bit(check.node))
        likelihoods = proof_likelihoods(not says_bad, check.sens, check.spec)
        factor: Weights = np.array(likelihoods).reshape(1, 2, 1)
        return (split * factor).reshape(-1)

    def fix(self, weights: Weights, index: int) -> _RunOutcome:
        """Take one fix and run the unit."""
        split = weights.reshape(-1, 2, int(self.bit[index]))
        good, bad = split[:, 0], split[:, 1]
        changed = np.empty_like(split)
        changed[:, 0] = good * self.keeps_good[index] + bad * self.turns_good[index]
        changed[:, 1] = good * (1.0 - self.keeps_good[index]) + bad * (1.0 - self.turns_good[index])
        total, was_bad = float(weights.sum()), float(bad.sum())
        cost = float((total - was_bad) * self.cost_good[index] + was_bad * self.cost_bad[index])
        return self.run(changed.reshape(-1), self.mask_after[index], cost)

    def run(self, weights: Weights, mask: Weights | float, cost: float = 0.0) -> _RunOutcome:
        """Run the unit with what is fitted."""
        costs = self.plan.costs
        really = float(weights[0])
        hidden = weights * mask
        masked = float(hidden.sum() - hidden[0])
        failed: Weights = weights - hidden
        failed[0] = really * costs.misread
        return _RunOutcome(cost, really * (1.0 - costs.misread) + masked, really, masked * costs.come_back, failed)

    def best(self, weights: Weights, left: Sequence[int]) -> int:
        """Return the fix that the list takes next: the highest chance of really working for its money."""
        bad = (self.is_bad @ weights)[left]  # all rows: cheaper than copying those that are left
        good = float(weights.sum()) - bad
        cost = good * self.cost_good[left] + bad * self.cost_bad[left]
        really = weights[0] * self.keeps_good[left] + weights[self.bit[left]] * self.turns_good[left]
        return left[int(np.argmax(really / np.maximum(cost, 1e-300)))]

    def walk(self, weights: Weights, left: Sequence[int]) -> list[tuple[int, float, _RunOutcome]]:
        """Work down the list to its end; each line has the fix, the mass before it, and what came of it."""
        lines = []
        while left and (mass := float(weights.sum())) > 0.0:
            index = self.best(weights, left)
            tried = self.fix(weights, index)
            lines.append((index, mass, tried))
            weights, left = tried.failed, self.without(left, index)
        return lines

    def list_cost(self, weights: Weights, left: Sequence[int]) -> float:
        """Return the expected cost (a mass) of the list, giving up wherever that is cheaper than going on."""
        lines = self.walk(weights, left)
        end = lines[-1][2].failed if lines else weights
        cost = float(end.sum()) * self.plan.costs.give_up
        for _, mass, tried in reversed(lines):
            cost = min(mass * self.plan.costs.give_up, tried.cost + tried.come_back + cost)
        return cost


def _fold_into_leak(plan: RepairPlan) -> tuple[tuple[str, ...], Weights]:
    """Fold the nodes that no step is about into the leak: bad there means that no fix of ours helps."""
    nodes = list(plan.belief.nodes)
    weights = plan.belief.weights.reshape((2,) * len(nodes))
    for node in [node for node in nodes[1:] if node not in plan.touched]:
        axis = nodes.index(node)
        bad: Weights = np.take(weights, [1], axis).squeeze(axis)
        weights = np.take(weights, [0], axis).squeeze(axis)
        weights[1:] += bad.sum(axis=0, keepdims=True)
        nodes.remove(node)
    return tuple(nodes), weights.reshape(-1)
