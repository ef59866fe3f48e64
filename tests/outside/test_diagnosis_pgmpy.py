"""Random jobs against variable elimination in pgmpy, a general Bayesian-network library (test dependency only).

The two share nothing: here every thing and every observation becomes a node with a table of its own, and the
library eliminates variables; the product multiplies weights over all states.
"""

import random
import warnings
from itertools import product

import pytest

from inventory.reckoning.diagnosis.case import AddSpareStep, ChangeStep, DiagnosisCase, FitStep, MeasureStep, RunStep
from inventory.reckoning.diagnosis.posterior import diagnose

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the library's own imports warn; nothing of ours runs in here
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork


def invent(seed: int) -> DiagnosisCase:
    """Return a random job: 2 to 4 suspects, a complaint, then 3 to 6 steps of every kind."""
    dice = random.Random(seed)
    places = [f"place {n}" for n in range(dice.randint(2, 4))]
    things, fitted, steps = list(places), {place: place for place in places}, []

    def run() -> RunStep:
        loose = [thing for thing in things if thing not in fitted.values()]
        swap = {dice.choice(places): loose[0]} if loose and dice.random() < 0.7 else {}
        return RunStep(dice.random() < 0.5, dice.uniform(0.01, 0.2), dice.uniform(0.01, 0.1), tuple(swap.items()))

    steps.append(RunStep(False, dice.uniform(0.01, 0.2), dice.uniform(0.005, 0.05)))
    for number in range(dice.randint(3, 6)):
        match dice.choice(["run", "run", "measure", "spare", "later", "fit"]):
            case "measure":
                sens, spec = dice.uniform(0.6, 0.99), dice.uniform(0.6, 0.99)
                steps.append(MeasureStep(dice.choice(things), dice.random() < 0.5, sens, spec))
            case "spare":
                things.append(f"spare {number}")
                steps.append(AddSpareStep(things[-1], dice.uniform(0.5, 0.99)))
            case "later":
                parent = things.pop(dice.randrange(len(things)))
                things.append(f"later {number}")
                steps.append(ChangeStep(things[-1], parent, dice.uniform(0, 0.3), dice.uniform(0, 1)))
                fitted = {p: things[-1] if node == parent else node for p, node in fitted.items()}
            case "fit":
                loose = [thing for thing in things if thing not in fitted.values()]
                if loose:
                    place = dice.choice(places)
                    steps.append(FitStep(place, loose[0]))
                    fitted[place] = loose[0]
            case _:
                steps.append(run())
    priors = tuple((place, dice.uniform(0.02, 0.5)) for place in places)
    return DiagnosisCase(priors, dice.uniform(0.005, 0.1), tuple(steps))


class Network:
    """Build the same job as a general network: one node a thing, one more an observation."""

    def __init__(self, case: DiagnosisCase) -> None:
        self.model = DiscreteBayesianNetwork()
        self.evidence: dict[str, int] = {}
        self.things = ["leak", *case.places]
        self.fitted = {place: place for place in case.places}
        self.last: tuple[set[str], set[bool]] = (set(), set())
        for name, p in (("leak", case.leak), *case.prior):
            self.node(name, [], lambda _, p=p: p)
        for number, step in enumerate(case.steps):
            self.take(f"seen {number}", step)

    def node(self, name: str, parents: list[str], p_one) -> None:
        self.model.add_node(name)
        self.model.add_edges_from([(parent, name) for parent in parents])
        ones = [p_one(state) for state in product((0, 1), repeat=len(parents))]
        table = [[1 - p for p in ones], ones]
        cpd = TabularCPD(name, 2, table, evidence=parents or None, evidence_card=[2] * len(parents) or None)
        self.model.add_cpds(cpd)

    def take(self, observed: str, step) -> None:
        match step:
            case AddSpareStep(name, p_good):
                self.things.append(name)
                self.node(name, [], lambda _: 1 - p_good)
            case ChangeStep(name, parent, if_good, if_bad):
                self.things.append(name)
                self.node(name, [parent], lambda state: if_bad if state[0] else if_good)
                self.fitted = {p: name if node == parent else node for p, node in self.fitted.items()}
            case FitStep(place, node):
                self.fitted[place] = node
            case MeasureStep(node, says_bad, sens, spec):
                self.node(observed, [node], lambda state: sens if state[0] else 1 - spec)
                self.evidence[observed] = int(says_bad)
            case RunStep(works, mask, misread, swap):
                parents = ["leak", *{**self.fitted, **dict(swap)}.values()]
                setting, outcomes = self.last
                if set(parents) != setting:
                    outcomes = set()
                if works not in outcomes:
                    self.node(observed, parents, lambda state: mask if any(state) else 1 - misread)
                    self.evidence[observed] = int(works)
                self.last = (set(parents), outcomes | {works})

    def p_bad(self) -> dict[str, float]:
        inference = VariableElimination(self.model)
        return {
            name: float(inference.query([name], self.evidence, show_progress=False).values[1]) for name in self.things
        }


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.filterwarnings("ignore")
def test_it_agrees_with_a_general_bayesian_network_library(seed):
    case = invent(seed)
    assert diagnose(case).p_bad == pytest.approx(Network(case).p_bad(), abs=1e-9)


def test_its_random_jobs_hold_every_kind_of_step():
    kinds = {type(step) for seed in range(25) for step in invent(seed).steps}
    assert kinds == {RunStep, MeasureStep, AddSpareStep, ChangeStep, FitStep}
