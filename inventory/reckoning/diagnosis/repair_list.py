"""What working down the list of remedies costs, for many beliefs at once: one row a belief.

The list: of what is left, take the fix with the highest (chance that the unit really works after it) / (its
expected cost), until the unit is seen working or giving up is cheaper. With exactly one fault and perfect fixes
this is the p/c order, the optimum of all orders (Kadane and Simon 1977); with several independent faults it is
the order by prior odds p/(1-p)/c.

Weights are not normalised: the sum of a row is the chance of getting there, and every cost is times that chance.
State numbers: one bit a node, the leak the highest, 0 = all good.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from inventory.reckoning.common.bayes import proof_likelihoods
from inventory.reckoning.diagnosis.repair_plan import Measurement, RepairPlan

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indexes = NDArray[np.intp]
MAX_NUMBERS = 4_000_000  # of one array of options: 32 MB


@dataclass(frozen=True, slots=True)
class Cases:
    """Several states of one job side by side, each with what is left to do in it."""

    weights: Floats  # (row, state)
    replaced: Indexes  # (row) bits of the nodes that a fix replaced: a mask of their own went with them
    fixes: Flags  # (row, remedy) not taken yet
    checks: Flags  # (row, measurement) not taken yet, its suspect not fixed
    rerun: Flags  # (row) a run with nothing changed would say something new

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.weights)

    def rows(self, chosen: Indexes) -> Cases:
        """Return these rows, in this order."""
        return Cases(
            self.weights[chosen], self.replaced[chosen], self.fixes[chosen], self.checks[chosen], self.rerun[chosen]
        )

    def joined(self, *others: Cases) -> Cases:
        """Return these rows, and below them those of *others*."""
        every = (self, *others)
        return Cases(
            np.concatenate([cases.weights for cases in every]), np.concatenate([cases.replaced for cases in every]),
            np.concatenate([cases.fixes for cases in every]), np.concatenate([cases.checks for cases in every]),
            np.concatenate([cases.rerun for cases in every]),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Outcome:
    """A run of the unit in every row: amounts as masses, and what is left where it still fails."""

    cost: Floats
    works: Floats  # seen working
    really: Floats  # repaired indeed
    come_back: Floats  # expected cost of a masked fault
    failed: Cases


@dataclass(frozen=True, slots=True)
class Options:
    """Every step that can be taken in some rows: fixes, then measurements, then runs with nothing changed."""

    row: Indexes  # in which it can be taken
    remedy: Indexes  # -1: none
    check: Indexes  # -1: none
    now: Floats  # cost, times the chance of the row
    works: Floats
    really: Floats
    come_back: Floats
    after: Cases  # what it leads to, unless the unit is seen working
    option: Indexes  # of each row of ``after``

    def totals(self, costs_after: Floats) -> Floats:
        """Return what each comes to in all, given the cost from each row of ``after``."""
        return self.now + self.come_back + np.bincount(self.option, costs_after, len(self.row))


class RepairList:
    """The remedies and measurements of a plan, laid out in arrays."""

    def __init__(self, plan: RepairPlan) -> None:
        self.costs = plan.costs
        self.nodes, weights = _fold_into_leak(plan)
        fixes, states = plan.remedies, np.arange(len(weights))
        self.bit = np.array([self._bit(fix.node) for fix in fixes], np.intp)
        self.cost_good = np.array([fix.cost(plan.costs, False) for fix in fixes])
        self.cost_bad = np.array([fix.cost(plan.costs, True) for fix in fixes])
        self.stays_good = np.array([1.0 - fix.bad_if_good for fix in fixes])
        self.turns_good = np.array([1.0 - fix.bad_if_bad for fix in fixes])
        self.is_bad = ((states & self.bit[:, None]) > 0).astype(np.float64)
        # a fix leaves each state with some of its own weight and some of that of the state that differs in its node
        self.other = states ^ self.bit[:, None]
        good, bad = self.is_bad == 0, self.is_bad == 1
        stays, turns = self.stays_good[:, None], self.turns_good[:, None]
        self.own_share = good * stays + bad * (1.0 - turns)
        self.other_share = good * turns + bad * (1.0 - stays)
        self.check_minutes = np.array([check.minutes for check in plan.checks])
        self.check_bit = np.array([self._bit(check.node) for check in plan.checks], np.intp)
        self.says = np.array([_reading_factors(check, states, self._bit(check.node)) for check in plan.checks])
        self.rerun_minutes = np.array([rerun.minutes for rerun in plan.reruns])
        self.own_masks = {self._bit(node): mask for node, mask in plan.masks if node in self.nodes}
        self._mask_of = cache(self._state_masks)
        self.start = Cases(
            weights[None, :], np.zeros(1, np.intp), np.ones((1, len(fixes)), bool),
            np.ones((1, len(plan.checks)), bool), np.full(1, bool(plan.reruns)),
        )  # fmt: skip

    def _bit(self, node: str) -> int:
        return 1 << (len(self.nodes) - 1 - self.nodes.index(node))

    def _state_masks(self, replaced: int) -> Floats:
        """Return the mask of every state once these nodes are replaced: of several bad things the least masked."""
        states = np.arange(1 << len(self.nodes))
        masks = np.where(states > 0, 1.0, 0.0)
        for place in range(len(self.nodes)):
            own = self.costs.mask if replaced >> place & 1 else self.own_masks.get(1 << place, self.costs.mask)
            bad = (states >> place & 1) > 0
            masks[bad] = np.minimum(masks[bad], own)
        return masks

    def fix(self, cases: Cases, chosen: Indexes) -> Outcome:
        """Take one fix in every row, and run the unit."""
        weights = cases.weights
        swapped = np.take_along_axis(weights, self.other[chosen], axis=1)
        changed = weights * self.own_share[chosen] + swapped * self.other_share[chosen]
        was_bad = (weights * self.is_bad[chosen]).sum(axis=1)
        cost = (weights.sum(axis=1) - was_bad) * self.cost_good[chosen] + was_bad * self.cost_bad[chosen]
        bit = self.bit[chosen]
        after = Cases(
            changed, cases.replaced | bit, cases.fixes & (self.bit != bit[:, None]),
            cases.checks & (self.check_bit != bit[:, None]), np.zeros(len(cases), bool),
        )  # fmt: skip
        return self.run(after, cost)

    def run(self, cases: Cases, cost: Floats) -> Outcome:
        """Run the unit in every row with what is fitted there."""
        weights = cases.weights
        hidden = weights * self._masks(cases.replaced)
        really, masked = weights[:, 0].copy(), hidden[:, 1:].sum(axis=1)
        failed = weights - hidden
        failed[:, 0] = really * self.costs.misread
        works = really * (1.0 - self.costs.misread) + masked
        left = Cases(failed, cases.replaced, cases.fixes, cases.checks, np.zeros(len(cases), bool))
        return Outcome(cost, works, really, masked * self.costs.come_back, left)

    def _masks(self, replaced: Indexes) -> Floats | float:
        if not self.own_masks or not len(replaced):
            return self.costs.mask
        kinds, which = np.unique(replaced, return_inverse=True)
        return np.array([self._mask_of(int(kind)) for kind in kinds])[which]

    def list_costs(self, cases: Cases) -> Floats:
        """Return the expected cost of the list in every row, giving up wherever that is cheaper than going on."""
        lines = []
        while (going := cases.fixes.any(axis=1) & (cases.weights.sum(axis=1) > 0.0)).any():
            chances = cases.weights.sum(axis=1)
            tried = self.fix(cases, self._best(cases, chances))
            lines.append((going, chances, tried.cost + tried.come_back))
            after = tried.failed
            cases = Cases(
                np.where(going[:, None], after.weights, cases.weights), after.replaced,
                after.fixes & going[:, None], after.checks, after.rerun,
            )  # fmt: skip
        cost: Floats = cases.weights.sum(axis=1) * self.costs.give_up
        for going, chances, spent in reversed(lines):
            cost = np.where(going, np.minimum(chances * self.costs.give_up, spent + cost), cost)
        return cost

    def _best(self, cases: Cases, chances: Floats) -> Indexes:
        """Return the fix that the list takes next in every row: the most chance of really working for its money."""
        bad = cases.weights @ self.is_bad.T
        cost = (chances[:, None] - bad) * self.cost_good + bad * self.cost_bad
        really = cases.weights[:, :1] * self.stays_good + cases.weights[:, self.bit] * self.turns_good
        worth = np.where(cases.fixes, really / np.maximum(cost, 1e-300), -1.0)
        best: Indexes = worth.argmax(axis=1)
        return best

    def options(self, cases: Cases) -> Options:
        """Return every step that can be taken in these rows."""
        fix_row, remedy = np.nonzero(cases.fixes)
        tried = self.fix(cases.rows(fix_row), remedy)
        check_row, check = np.nonzero(cases.checks)
        says_good, says_bad = (self._measured(cases.rows(check_row), check, reading) for reading in (0, 1))
        run_row = np.repeat(np.flatnonzero(cases.rerun), len(self.rerun_minutes))
        minutes = np.tile(self.rerun_minutes, int(cases.rerun.sum()))
        chances = cases.weights.sum(axis=1)
        again = self.run(cases.rows(run_row), chances[run_row] * minutes * self.costs.minute)
        none, no_mass = np.full(len(check_row), -1), np.zeros(len(check_row))
        checks = len(fix_row) + np.arange(len(check_row))
        runs = len(fix_row) + len(check_row) + np.arange(len(run_row))
        return Options(
            row=np.concatenate([fix_row, check_row, run_row]),
            remedy=np.concatenate([remedy, none, np.full(len(run_row), -1)]),
            check=np.concatenate([np.full(len(fix_row), -1), check, np.full(len(run_row), -1)]),
            now=np.concatenate([
                tried.cost, chances[check_row] * self.check_minutes[check] * self.costs.minute, again.cost,
            ]),
            works=np.concatenate([tried.works, no_mass, again.works]),
            really=np.concatenate([tried.really, no_mass, again.really]),
            come_back=np.concatenate([tried.come_back, no_mass, again.come_back]),
            after=tried.failed.joined(says_good, says_bad, again.failed),
            option=np.concatenate([np.arange(len(fix_row)), checks, checks, runs]),
        )  # fmt: skip

    def _measured(self, cases: Cases, check: Indexes, says_bad: int) -> Cases:
        if not len(check):
            return cases
        left = cases.checks.copy()
        left[np.arange(len(check)), check] = False
        return Cases(cases.weights * self.says[check, says_bad], cases.replaced, cases.fixes, left, cases.rerun)

    def costs_looking_ahead(self, cases: Cases) -> Floats:
        """Return the expected cost in every row of the step that is best by the list, and then the list."""
        best: Floats = cases.weights.sum(axis=1) * self.costs.give_up
        size = cases.weights[0].size * (len(self.bit) + 2 * len(self.check_bit) + len(self.rerun_minutes))
        for rows in np.array_split(np.arange(len(cases)), -(-len(cases) * size // MAX_NUMBERS)):
            options = self.options(cases.rows(rows))
            np.minimum.at(best, rows[options.row], options.totals(self.list_costs(options.after)))
        return best


def _reading_factors(check: Measurement, states: Indexes, bit: int) -> Floats:
    """Return (reading, state): the chance of "good" and of "bad" in every state."""
    bad = (states & bit) > 0
    readings = [proof_likelihoods(says_good, check.sens, check.spec) for says_good in (True, False)]
    return np.array([np.where(bad, if_bad, if_good) for if_good, if_bad in readings])


def _fold_into_leak(plan: RepairPlan) -> tuple[tuple[str, ...], Floats]:
    """Fold the nodes that no step is about into the leak: bad there means that no fix of ours helps."""
    nodes = list(plan.belief.nodes)
    weights = plan.belief.weights.reshape((2,) * len(nodes))
    for node in [node for node in nodes[1:] if node not in plan.touched]:
        axis = nodes.index(node)
        bad: Floats = np.take(weights, [1], axis).squeeze(axis)
        weights = np.take(weights, [0], axis).squeeze(axis)
        weights[1:] += bad.sum(axis=0, keepdims=True)
        nodes.remove(node)
    return tuple(nodes), weights.reshape(-1)
