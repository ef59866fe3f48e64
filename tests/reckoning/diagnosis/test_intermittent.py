"""Faults that come and go: a mask of their own, in what a log says and in what is advised next."""

from __future__ import annotations

import re
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.diagnosis.case import AddSpareStep, DiagnosisCase, RunStep, case_from_dict, case_to_dict
from inventory.reckoning.diagnosis.next_step import GIVE_UP, RERUN, plan_after, rank_steps
from inventory.reckoning.diagnosis.posterior import diagnose
from inventory.reckoning.diagnosis.repair_plan import BenchCosts, Remedy, RepairPlan, Rerun

PRIOR = (("fan", 0.2), ("harness", 0.1), ("joint", 0.05))
LEAK = 0.02
some = st.floats(0.0, 0.9, allow_nan=False)
COSTS = BenchCosts(minute=80, waiting_day=600, give_up=30_000, come_back=8_000)


def by_enumeration(runs: list[RunStep]) -> dict[str, float]:
    """Work the same out state by state: of several bad things the least masked decides what a run shows."""
    chances = {"leak": LEAK, **dict(PRIOR)}
    total, bad = 0.0, dict.fromkeys(chances, 0.0)
    for states in product((False, True), repeat=len(chances)):
        state = dict(zip(chances, states, strict=True))
        weight = 1.0
        for name, p in chances.items():
            weight *= p if state[name] else 1.0 - p
        for run in runs:
            works = min((dict(run.masks).get(n, run.mask) for n in state if state[n]), default=1.0 - run.misread)
            weight *= works if run.works else 1.0 - works
        total += weight
        for name in bad:
            bad[name] += weight * state[name]
    return {name: value / total for name, value in bad.items()}


@given(st.dictionaries(st.sampled_from(["fan", "harness", "joint"]), some), st.booleans())
def test_it_agrees_with_every_state_weighed_by_hand(masks: dict[str, float], works: bool) -> None:
    runs = [RunStep(works=False), RunStep(works=works, masks=tuple(masks.items()))]
    if not works:
        runs = [RunStep(works=True, mask=0.3), runs[1]]  # no repeat of one and the same run
    diagnosis = diagnose(DiagnosisCase(PRIOR, LEAK, tuple(runs)))
    assert diagnosis.p_bad == pytest.approx(by_enumeration(runs), abs=1e-12)


@given(some)
def test_masks_that_all_are_the_usual_one_change_nothing(mask: float) -> None:
    steps = (
        AddSpareStep("C-07", 0.99),
        RunStep(works=False, mask=mask),
        RunStep(works=True, mask=mask, swap=(("fan", "C-07"),)),
    )
    own = tuple((name, mask) for name in ("fan", "harness", "joint", "C-07"))
    masked = tuple(RunStep(s.works, s.mask, s.misread, s.swap, own) if isinstance(s, RunStep) else s for s in steps)
    if mask > 0.0:
        assert diagnose(DiagnosisCase(PRIOR, LEAK, masked)).p_bad == pytest.approx(
            diagnose(DiagnosisCase(PRIOR, LEAK, steps)).p_bad
        )


def test_a_unit_that_works_clears_a_suspect_that_comes_and_goes_only_so_far() -> None:
    def fan_after(mask: float) -> float:
        run = RunStep(works=True, masks=(("fan", mask),))
        return diagnose(DiagnosisCase(PRIOR, LEAK, (RunStep(works=False), run))).p_bad["fan"]

    assert fan_after(0.02) < fan_after(0.3) < fan_after(0.9)


@pytest.mark.parametrize(("mask", "fan"), [(0.02, 0.311), (0.30, 0.860)])
def test_it_gives_the_figures_that_the_numbers_page_works_through(mask: float, fan: float) -> None:
    """Four states by hand: fan alone, harness alone, both, none."""
    states = (0.2 * 0.9 * 0.98 * mask, 0.8 * 0.1 * 0.98 * 0.02, 0.2 * 0.1 * 0.98 * 0.02, 0.8 * 0.9 * 0.01 * 0.99)
    case = DiagnosisCase(
        (("fan", 0.2), ("harness", 0.1)), 0.0, (RunStep(works=False), RunStep(works=True, masks=(("fan", mask),)))
    )
    p_bad = diagnose(case).p_bad["fan"]
    assert p_bad == pytest.approx((states[0] + states[2]) / sum(states))
    assert p_bad == pytest.approx(fan, abs=0.0005)


def test_a_case_with_masks_reads_back_as_it_was_written() -> None:
    case = DiagnosisCase(PRIOR, LEAK, (RunStep(works=False), RunStep(works=True, masks=(("fan", 0.4),))), "job 9")
    assert case_from_dict(case_to_dict(case)) == case


@pytest.mark.parametrize(
    ("masks", "sentence"),
    [
        ({"fan": 1.5}, "Step 1: the mask of 'fan' must be a chance from 0 to 1, not 1.5."),
        ({"fan": float("nan")}, "Step 1: the mask of 'fan' must be a finite number, not nan."),
        ({"lamp": 0.3}, "Step 1: nothing is called 'lamp'"),
        ([0.3], 'Step 1: "masks" must say which thing has which mask.'),
    ],
)
def test_it_refuses_masks_that_cannot_be(masks: object, sentence: str) -> None:
    with pytest.raises(ValueError, match="^" + re.escape(sentence)):
        case_from_dict({"prior": dict(PRIOR), "steps": [{"op": "unit_test", "works": True, "masks": masks}]})


# ---- what next -------------------------------------------------------------------------------------------


def plan(masks: tuple[tuple[str, float], ...] = (), *, reruns: tuple[Rerun, ...] = ()) -> RepairPlan:
    belief = diagnose(DiagnosisCase(PRIOR, LEAK, (RunStep(works=False),))).belief
    fixes = tuple(Remedy(name, "spare", 15, 0.01, 0.01, 1_800, 10) for name, _ in PRIOR)
    return RepairPlan(belief, fixes, (), COSTS, reruns, masks)


def test_masks_that_all_are_the_usual_one_change_no_advice() -> None:
    usual = [step.total for step in rank_steps(plan())]
    same = [step.total for step in rank_steps(plan(tuple((name, COSTS.mask) for name, _ in PRIOR)))]
    assert same == pytest.approx(usual, rel=1e-12)


def test_mending_something_else_looks_like_the_end_more_often_beside_a_fault_that_hides() -> None:
    def seen_working(repair_plan: RepairPlan) -> float:
        return next(step.p_ends for step in rank_steps(repair_plan) if step.node == "harness")

    assert seen_working(plan((("fan", 0.5),))) > seen_working(plan()) + 0.05


def test_replacing_the_suspect_that_comes_and_goes_leaves_nothing_that_hides() -> None:
    """Its mask goes out with it: what ends the job is as if it never had one."""
    masked, usual = plan((("fan", 0.5),)), plan()
    ends = [
        next(step.p_ends for step in rank_steps(repair_plan) if step.node == "fan") for repair_plan in (masked, usual)
    ]
    assert ends[0] == pytest.approx(ends[1])


def test_running_it_again_costs_its_minutes_and_then_the_list() -> None:
    repair_plan = plan(reruns=(Rerun("fan", 10),))
    step = next(step for step in rank_steps(repair_plan) if step.action == RERUN)
    assert step.cost_now == pytest.approx(800)
    assert step.total == pytest.approx(step.cost_now + step.cost_after)
    failing, nothing = plan_after(repair_plan, step, True)
    failed, rest = plan_after(repair_plan, step, False)
    good = repair_plan.belief.weights[0]
    assert nothing is None
    assert failing == pytest.approx(good * (1 - COSTS.misread) + (1 - good) * COSTS.mask)
    assert failing + failed == pytest.approx(1.0)
    assert rest is not None
    assert rest.reruns == ()
    assert rest.belief.weights[0] < good  # that it failed again makes it less likely that all is good
    assert [step.action for step in rank_steps(rest)].count(GIVE_UP) == 1
