"""Diagnosis: exact chances against worked cases, contradictions named, bad files refused with a sentence."""

import copy
import json
import math
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.common.bayes import swap_likelihood_ratio
from inventory.reckoning.diagnosis.case import (
    AddSpareStep,
    DiagnosisCase,
    MeasureStep,
    RunStep,
    case_from_dict,
    case_to_dict,
)
from inventory.reckoning.diagnosis.posterior import ContradictionError, chance_all_else_good, diagnose
from tests import ORACLES

FILE = json.loads((ORACLES / "diagnosis.json").read_text())
WORKED = FILE["cases"]
IDS = [case["name"] for case in WORKED]

SMALL = {
    "prior": {"fan": 0.1, "line": 0.05},
    "leak": 0.01,
    "steps": [
        {"op": "unit_test", "works": False, "mask": 0.02, "misread": 0.01},
        {"op": "add_spare", "name": "other fan", "p_good": 0.9},
        {"op": "unit_test", "works": True, "swap": {"fan": "other fan"}},
    ],
}


def changed(path, value):
    """Return the small case with one entry changed; a value of None takes the entry out."""
    case = copy.deepcopy(SMALL)
    spot = case
    for key in path[:-1]:
        spot = spot[key]
    if value is None:
        del spot[path[-1]]
    else:
        spot[path[-1]] = value
    return case


@pytest.mark.parametrize("worked", WORKED, ids=IDS)
def test_it_gives_the_chances_of_the_worked_case(worked):
    diagnosis, expect = diagnose(case_from_dict(worked)), worked["expect"]
    assert diagnosis.p_bad == pytest.approx(expect["p_bad"], abs=5.1e-7)
    assert diagnosis.p_evidence == pytest.approx(expect["p_evidence"], rel=5e-8)


@pytest.mark.parametrize("worked", WORKED, ids=IDS)
def test_it_ranks_the_sets_of_faults_of_the_worked_case(worked):
    top = diagnose(case_from_dict(worked)).fault_sets[:4]
    expect = worked["expect"]["top_fault_sets"]
    assert [list(names) for names, _ in top] == [names for names, _ in expect]
    assert [chance for _, chance in top] == pytest.approx([chance for _, chance in expect], abs=5.1e-7)


@pytest.mark.parametrize("worked", WORKED, ids=IDS)
def test_it_writes_a_case_that_reads_back_as_the_same_case(worked):
    case = case_from_dict(worked)
    assert case_from_dict(json.loads(json.dumps(case_to_dict(case)))) == case


def test_it_tells_what_is_fitted_now():
    seventh = diagnose(case_from_dict(WORKED[6]))
    assert seventh.fitted == {
        "fan": "fan",
        "joint": "joint_reworked",
        "driver": "new_driver",
        "supply": "supply",
    }
    assert seventh.belief.nodes == ("leak", "fan", "joint_reworked", "new_driver", "supply")


def test_it_hands_on_the_joint_chances_of_what_is_fitted():
    diagnosis = diagnose(case_from_dict(WORKED[6]))
    joint = diagnosis.belief.weights.reshape((2,) * 5)
    assert joint.sum() == pytest.approx(1)
    assert joint[:, :, 1].sum() == pytest.approx(diagnosis.p_bad["joint_reworked"])
    assert joint[1].sum() == pytest.approx(diagnosis.p_bad["leak"])


def run(works, **more):
    return {"op": "unit_test", "works": works, "mask": 0.05, "misread": 0.01, **more}


def with_steps(*steps):
    return case_from_dict({**SMALL, "steps": list(steps)})


def test_it_counts_a_run_repeated_without_touching_anything_once():
    once = diagnose(with_steps(run(False)))
    twice = diagnose(with_steps(run(False), run(False), run(False)))
    assert twice.p_bad == once.p_bad
    assert (once.repeats, twice.repeats) == ((), (2, 3))


def test_it_counts_the_return_run_of_a_swap_and_back():
    spare = {"op": "add_spare", "name": "spare", "p_good": 0.9}
    there = [run(False), spare, run(True, swap={"fan": "spare"})]
    back = diagnose(with_steps(*there, run(False)))
    assert back.repeats == ()
    assert back.p_bad["fan"] > diagnose(with_steps(*there)).p_bad["fan"]


def test_it_counts_a_run_that_ends_differently_though_nothing_was_touched():
    calm = diagnose(with_steps(run(False), run(True)))
    assert calm.repeats == ()
    assert calm.p_bad["fan"] < diagnose(with_steps(run(False))).p_bad["fan"]


def test_it_gives_the_a_that_the_swap_ratio_needs():
    third = case_from_dict(WORKED[2])
    a = chance_all_else_good(third, 3, "spare_fan")
    assert a == pytest.approx(0.397235, abs=5e-7)
    odds = 0.9 / 0.1 * swap_likelihood_ratio(True, a, 0.02, 0.01)
    assert odds / (1 + odds) == pytest.approx(1 - diagnose(third).p_bad["spare_fan"], abs=1e-12)
    with pytest.raises(ValueError, match=r"^Step 1 is not a counted run with 'spare_fan' fitted"):
        chance_all_else_good(third, 1, "spare_fan")


@pytest.mark.parametrize(
    ("works", "a", "after"),
    [
        (True, 0.1, 0.981361),
        (True, 0.5, 0.995619),
        (True, 0.9, 0.997518),
        (False, 0.1, 0.890221),
        (False, 0.5, 0.819687),
        (False, 0.9, 0.495625),
    ],
)
def test_it_weighs_what_one_swap_says_about_the_spare(works, a, after):
    odds = 9 * swap_likelihood_ratio(works, a, mask=0.02, misread=0.01)
    assert odds / (1 + odds) == pytest.approx(after, abs=5e-7)


@given(st.floats(0, 1), st.floats(0, 0.5), st.floats(0, 0.49))
def test_it_never_lets_a_swap_that_still_fails_speak_for_the_spare(a, mask, misread):
    assert swap_likelihood_ratio(False, a, mask, misread) <= 1 + 1e-12
    assert swap_likelihood_ratio(True, a, mask, misread) >= 1 - 1e-12


def test_it_gives_no_end_of_credit_to_a_spare_that_could_not_have_been_bad():
    assert swap_likelihood_ratio(True, 0.5, mask=0) == math.inf


def test_it_names_the_observations_that_contradict_each_other():
    sure = {"mask": 0.0, "misread": 0.0}
    steps = [
        {"op": "unit_test", "works": False, "mask": 0.05, "misread": 0.01},
        {"op": "measure", "node": "line", "says_bad": False, "sens": 0.9, "spec": 0.9},
        {"op": "measure", "node": "fan", "says_bad": True, "sens": 0.9, "spec": 1.0},
        {"op": "add_spare", "name": "other", "p_good": 0.9},
        {"op": "unit_test", "works": False, "swap": {"line": "other"}},
        {"op": "unit_test", "works": True, **sure},
    ]
    with pytest.raises(ContradictionError) as refusal:
        diagnose(with_steps(*steps))
    assert refusal.value.steps == (3, 6)
    assert str(refusal.value) == (
        "These observations contradict each other: step 3, fan measured bad; step 6, the unit worked with fan, "
        "line. Take back the one that is wrong, or allow for a mask or a misread."
    )


def test_it_refuses_a_complaint_that_nothing_could_have_caused():
    nothing_bad = {"prior": {"fan": 0.0}, "leak": 0.0, "steps": [run(False, misread=0.0)]}
    with pytest.raises(ContradictionError, match="step 1, the unit failed with fan"):
        diagnose(case_from_dict(nothing_bad))


def test_it_refuses_more_than_22_nodes_with_a_sentence():
    def many(suspects):
        prior = tuple((f"suspect {n}", 0.05) for n in range(suspects))
        return DiagnosisCase(prior, 0.01, (AddSpareStep("spare", 0.9), RunStep(False)))

    with pytest.raises(ValueError) as refusal:
        diagnose(many(21))
    assert str(refusal.value) == (
        "This case has 23 suspects, spares and later states; 22 is the most that can be worked out exactly. "
        "Leave out the least likely suspects: the leak stands for them."
    )
    began = time.perf_counter()
    assert diagnose(many(20)).p_bad["spare"] == pytest.approx(0.1)
    assert time.perf_counter() - began < 10


def test_it_stays_exact_over_a_very_long_log():
    steps = tuple(MeasureStep("fan", n % 2 == 0, 0.99, 0.99) for n in range(1000))
    diagnosis = diagnose(DiagnosisCase((("fan", 0.1),), 0.01, steps))
    assert diagnosis.p_bad["fan"] == pytest.approx(0.1)
    assert diagnosis.p_evidence == 0.0  # too small to be written down, and no contradiction


@pytest.mark.parametrize(
    ("case", "sentence"),
    [
        ([], "The case must be an object with named entries, not list."),
        ({"prior": {"fan": 0.1}}, 'The case lacks "steps".'),
        (
            {**SMALL, "priors": {}},
            'The case has an entry "priors" that means nothing here; it may hold advice, expect, leak, name, note, '
            "prior, steps.",
        ),
        ({**SMALL, "prior": {}}, '"prior" must name at least one suspect with its chance of being bad.'),
        (changed(["prior", "fan"], 1.01), "The prior of 'fan' must be a chance from 0 to 1, not 1.01."),
        (changed(["prior", "fan"], float("nan")), "The prior of 'fan' must be a finite number, not nan."),
        (changed(["prior", "fan"], "often"), "The prior of 'fan' must be a number, not 'often'."),
        (changed(["prior", "leak"], 0.1), "The suspect 'leak' is named already; give it a name of its own."),
        (changed(["prior", " "], 0.1), "A suspect must be a name of 1 to 80 characters, not ' '."),
        (changed(["leak"], -0.01), "The leak must be a chance from 0 to 1, not -0.01."),
        (changed(["steps"], {}), '"steps" must be a list, in the order in which things happened.'),
        (
            changed(["steps", 0, "op"], "kick"),
            'Step 1 must have an "op" that is one of unit_test, measure, add_spare, later, fit.',
        ),
        (changed(["steps", 0, "works"], None), 'Step 1 lacks "works".'),
        (changed(["steps", 0, "works"], "no"), "Step 1: \"works\" must be true or false, not 'no'."),
        (changed(["steps", 0, "mask"], 2), "Step 1: the mask must be a chance from 0 to 1, not 2."),
        (
            changed(["steps", 1, "p_good"], float("inf")),
            "Step 2: the chance that the spare is good must be a finite number, not inf.",
        ),
        (changed(["steps", 1, "name"], "line"), "Step 2: 'line' is named already; give it a name of its own."),
        (
            changed(["steps", 2, "swap"], {"fan": "third fan"}),
            "Step 3: nothing is called 'third fan'; the case knows fan, leak, line, other fan.",
        ),
        (
            changed(["steps", 2, "swap"], {"door": "other fan"}),
            "Step 3: there is no place 'door'; the places are fan, line.",
        ),
        (
            changed(["steps", 2, "swap"], {"fan": "leak"}),
            "Step 3: the leak stands for what is not on the list; it cannot be fitted.",
        ),
        (
            changed(["steps", 2, "swap"], {"fan": "other fan", "line": "other fan"}),
            "Step 3: one thing cannot be in two places.",
        ),
        (changed(["steps", 2, "swap"], ["fan"]), 'Step 3: "swap" must say which thing goes into which place.'),
        (
            changed(["steps", 1], {"op": "measure", "node": "fan", "says_bad": True, "sens": 0.9}),
            'Step 2 lacks "spec".',
        ),
        (
            changed(["steps", 1], {"op": "measure", "node": "van", "says_bad": True, "sens": 0.9, "spec": 1}),
            "Step 2: nothing is called 'van'; the case knows fan, leak, line.",
        ),
    ],
)
def test_it_refuses_a_bad_case_and_says_which_entry_to_mend(case, sentence):
    with pytest.raises(ValueError) as refusal:
        case_from_dict(case)
    assert str(refusal.value) == sentence


def test_it_refuses_to_run_a_thing_as_it_was_before_it_changed():
    later = {"op": "later", "name": "line mended", "parent": "line", "bad_if_good": 0.01, "bad_if_bad": 0.1}
    with pytest.raises(ValueError, match=r"^Step 2: 'line' is 'line mended' by now; name that one\.$"):
        with_steps(later, run(True, swap={"fan": "line"}))
    again = {**later, "name": "line mended twice"}
    with pytest.raises(ValueError, match=r"^Step 2: 'line' is 'line mended' by now; start from that\.$"):
        with_steps(later, again)
    in_order = with_steps(later, {**again, "parent": "line mended"}, run(True))
    assert diagnose(in_order).fitted["line"] == "line mended twice"


def test_it_refuses_one_thing_in_two_places():
    moved = with_steps({"op": "fit", "place": "line", "node": "fan"}, run(True))
    with pytest.raises(ValueError, match=r"^Step 1: one thing cannot be in two places; take it out of the other"):
        diagnose(moved)


chances = st.floats(0.02, 0.98)


@given(
    st.lists(chances, min_size=1, max_size=5),
    st.lists(st.tuples(st.integers(0, 4), st.booleans(), chances, chances), max_size=6),
    st.randoms(use_true_random=False),
)
def test_it_does_not_depend_on_the_order_of_measurements(priors, readings, random):
    def diagnosed(order):
        steps = [MeasureStep(f"s{node % len(priors)}", *rest) for node, *rest in order]
        return diagnose(
            DiagnosisCase(tuple((f"s{n}", p) for n, p in enumerate(priors)), 0.02, (RunStep(False), *steps))
        )

    shuffled = list(readings)
    random.shuffle(shuffled)
    assert diagnosed(shuffled).p_bad == pytest.approx(diagnosed(readings).p_bad, abs=1e-12)


@given(st.lists(chances, min_size=2, max_size=4), chances, chances)
def test_it_splits_into_what_it_would_say_after_each_outcome(priors, p_good, misread):
    """P(bad now) is the mean of P(bad) after each outcome of a run, weighted by the outcomes' chances."""
    case = DiagnosisCase(
        tuple((f"s{n}", p) for n, p in enumerate(priors)), 0.02, (RunStep(False), AddSpareStep("new", p_good))
    )
    before = diagnose(case)
    total = dict.fromkeys(before.p_bad, 0.0)
    for works in (True, False):
        last = RunStep(works, 0.1, misread, (("s0", "new"),))
        after = diagnose(DiagnosisCase(case.prior, case.leak, (*case.steps, last)))
        for name, p in after.p_bad.items():
            total[name] += p * after.p_evidence / before.p_evidence
    assert total == pytest.approx(before.p_bad, abs=1e-9)
