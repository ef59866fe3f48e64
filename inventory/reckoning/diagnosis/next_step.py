"""Which step to take next: two steps of lookahead over a list that is worked down by chance for money.

The list is in ``repair_list``. One step: E[step] = its cost + sum over outcomes of P(outcome) x (expected cost of
working down the list from there). The best few steps are looked at once more, with the best step by that measure
in place of the list. How near that comes to the exact optimum is measured in tests/reckoning/diagnosis.
"""

from dataclasses import dataclass, replace

import numpy as np

from inventory.reckoning.diagnosis.posterior import Belief
from inventory.reckoning.diagnosis.repair_list import Options, RepairList
from inventory.reckoning.diagnosis.repair_plan import Measurement, Remedy, RepairPlan, Rerun

FIX, MEASURE, RERUN, GIVE_UP = "fix", "measure", "run again", "give up"
MAX_LOOKED_AHEAD_NODES = 8  # with more suspects the look ahead takes longer than a page may wait
LOOKED_AHEAD = 3  # of the best steps, looked at one step further: more of them hardly change the advice (measured)


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


def rank_steps(plan: RepairPlan, looked_ahead: int = LOOKED_AHEAD) -> list[NextStep]:
    """Return every possible next step, cheapest in expectation first; giving up is always one of them.

    The best *looked_ahead* of them are looked at one step further, while there are few enough suspects.
    """
    bench = RepairList(plan)
    options = bench.options(bench.start)
    totals = options.totals(bench.list_costs(options.after))
    if len(bench.nodes) > MAX_LOOKED_AHEAD_NODES:
        looked_ahead = 0
    closer = np.argsort(totals, kind="stable")[:looked_ahead]
    rows = np.flatnonzero(np.isin(options.option, closer))
    if len(rows):
        after = np.zeros(len(options.option))
        after[rows] = bench.costs_looking_ahead(options.after.rows(rows))
        totals[closer] = options.totals(after)[closer]
    steps = [_next_step(plan, options, number, float(totals[number])) for number in range(len(totals))]
    steps.append(NextStep(GIVE_UP, None, None, None, plan.costs.give_up, 0.0, 0.0, 0.0, 0.0, plan.costs.give_up))
    return sorted(steps, key=lambda step: step.total)


def _next_step(plan: RepairPlan, options: Options, number: int, total: float) -> NextStep:
    remedy = plan.remedies[options.remedy[number]] if options.remedy[number] >= 0 else None
    check = plan.checks[options.check[number]] if options.check[number] >= 0 else None
    first_rerun = len(plan.remedies) + len(plan.checks)
    rerun = plan.reruns[number - first_rerun] if number >= first_rerun else None
    step = remedy or check or rerun
    assert step is not None  # every option is one of the three
    now = float(options.now[number])
    return NextStep(
        action=FIX if remedy else MEASURE if check else RERUN,
        node=step.node,
        remedy=remedy,
        check=check,
        cost_now=now,
        p_ends=float(options.works[number]),
        p_really=float(options.really[number]),
        cost_after=total - now,
        come_back=float(options.come_back[number]),
        total=total,
        rerun=rerun,
    )


def repair_list_cost(plan: RepairPlan) -> float:
    """Return the expected cost of working down the list from here, without looking ahead."""
    bench = RepairList(plan)
    return float(bench.list_costs(bench.start)[0])


def plan_after(plan: RepairPlan, step: NextStep, outcome: bool) -> tuple[float, RepairPlan | None]:
    """Return the chance of an outcome of a step, and the plan from there (None if the job is over).

    ``outcome``: for a fix, whether the unit is seen working; for a measurement, whether it says bad.
    """
    if step.action == GIVE_UP:
        return 1.0, None
    if step.action != MEASURE and outcome:
        return step.p_ends, None
    bench = RepairList(plan)
    options = bench.options(bench.start)
    number = _option_number(plan, step)
    rows = np.flatnonzero(options.option == number)
    weights = options.after.weights[rows[int(outcome)] if step.action == MEASURE else rows[0]]
    chance = float(weights.sum())
    if chance <= 0.0:
        return chance, None
    fixed = step.node if step.remedy is not None else None
    return chance, replace(
        plan,
        belief=Belief(bench.nodes, weights / chance),
        remedies=tuple(remedy for remedy in plan.remedies if remedy.node != fixed),
        reruns=plan.reruns if step.action == MEASURE else (),
        masks=tuple(pair for pair in plan.masks if pair[0] != fixed),
        checks=tuple(check for check in plan.checks if check.node != fixed and check is not step.check),
    )


def _option_number(plan: RepairPlan, step: NextStep) -> int:
    if step.remedy is not None:
        return plan.remedies.index(step.remedy)
    if step.check is not None:
        return len(plan.remedies) + plan.checks.index(step.check)
    return len(plan.remedies) + len(plan.checks) + [rerun is step.rerun for rerun in plan.reruns].index(True)
