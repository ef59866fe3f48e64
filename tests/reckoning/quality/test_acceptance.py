"""Incoming checks: how many to test, when the answer is certain, and what it says of the rest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.common.kind_defaults import KIND_DEFAULTS
from inventory.reckoning.quality.acceptance import (
    SamplingPlan,
    acceptance_chance,
    acceptance_verdict,
    estimate_rest,
    fraction_text,
    plan_for_confidence,
    plan_from_numbers,
)
from inventory.reckoning.quality.sampling import estimate_rest_of_lot


def test_a_lot_smaller_than_the_sample_is_tested_whole() -> None:
    assert plan_from_numbers(3, 5) == SamplingPlan(3, 0)
    assert plan_for_confidence(1, 0.9, 0.05) == SamplingPlan(1, 0)


@pytest.mark.parametrize(
    ("test", "accept"), [(5, 5), (1, 1), (0, 0)], ids=["all may be bad", "the only one may be bad", "none tested"]
)
def test_a_plan_that_finds_nothing_out_is_refused(test: int, accept: int) -> None:
    with pytest.raises(ValueError, match=r"\.$"):
        plan_from_numbers(20, test, accept)


@pytest.mark.parametrize(("sure", "most_bad"), [(0.9, 0.0), (0.9, 1.0), (0.0, 0.1), (1.0, 0.1)])
def test_a_question_without_an_answer_is_refused(sure: float, most_bad: float) -> None:
    with pytest.raises(ValueError, match="Say"):
        plan_for_confidence(20, sure, most_bad)


def test_more_bad_ones_are_never_accepted_than_the_whole_lot_may_have() -> None:
    assert plan_for_confidence(20, 0.9, 0.05, accept=3).accept == 1
    assert plan_for_confidence(10, 0.9, 0.05, accept=3) == SamplingPlan(9, 0)


def test_a_larger_lot_is_never_asked_for_fewer_than_one_of_ten_thousand() -> None:
    assert plan_for_confidence(10_000, 0.9, 0.05).tests <= plan_for_confidence(10_001, 0.9, 0.05).tests <= 45
    assert plan_for_confidence(10**9, 0.9, 0.05).tests == 45  # 0.95 ** 45 = .0994, 0.95 ** 44 = .1047


@pytest.mark.parametrize(
    ("tested", "bad", "verdict"),
    [
        (0, 0, ""), (3, 0, ""), (4, 0, "accept"), (4, 1, ""), (5, 1, "accept"), (2, 2, "reject"), (6, 2, "reject"),
    ],
)  # fmt: skip
def test_it_stops_as_soon_as_nothing_can_change_the_answer(tested: int, bad: int, verdict: str) -> None:
    assert acceptance_verdict(SamplingPlan(5, 1), tested, bad) == verdict  # test 5, accept at most 1


@given(st.integers(1, 12), st.integers(0, 11), st.lists(st.booleans(), min_size=12, max_size=12))
def test_stopping_early_never_says_anything_else_than_testing_on(tests: int, accept: int, bad: list[bool]) -> None:
    plan = SamplingPlan(tests, min(accept, tests - 1))
    verdicts = [acceptance_verdict(plan, n, sum(bad[:n])) for n in range(1, tests + 1)]
    assert verdicts[-1] == ("reject" if sum(bad[:tests]) > plan.accept else "accept")
    assert set(verdicts) <= {"", verdicts[-1]}


def test_sorting_goes_on_to_the_last_one_whatever_is_found() -> None:
    plan = SamplingPlan(4, 4)
    assert [acceptance_verdict(plan, n, n, sort_all=True) for n in range(5)] == ["", "", "", "", "accept"]


# ---- what it says of the rest ----------------------------------------------------------------------------


def test_two_bad_headers_of_five_tell_of_a_third_of_the_rest() -> None:
    headers = KIND_DEFAULTS["connector"]
    estimate = estimate_rest(20, 5, 2, headers.beta_a, headers.beta_b)
    assert fraction_text(estimate.share) == "about a third"
    assert (estimate.low, estimate.high) == (0, 11)
    assert estimate.p_bad_batch > 0.75


@pytest.mark.parametrize("kind", KIND_DEFAULTS.values(), ids=lambda one: one.kind)
def test_when_none_failed_it_hardly_differs_from_the_kinds_own_share(kind: object) -> None:
    a, b = kind.beta_a, kind.beta_b  # type: ignore[attr-defined]
    estimate, usual = estimate_rest(50, 10, 0, a, b), estimate_rest_of_lot(50, 10, 0, a, b)
    assert 1 - usual.p_next_good <= estimate.share <= 1 - usual.p_next_good + 0.002


@given(st.integers(0, 40), st.data())
def test_each_bad_one_more_speaks_against_the_rest(rest: int, data: st.DataObject) -> None:
    tested = data.draw(st.integers(1, 15))
    bad = data.draw(st.integers(0, tested - 1))
    fewer, more = (estimate_rest(rest + tested, tested, count, 0.5, 24.5) for count in (bad, bad + 1))
    assert fewer.share < more.share
    assert fewer.chances.sum() == pytest.approx(1) == more.chances.sum()
    assert 0 <= fewer.low <= fewer.high <= rest


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "next to none"), (0.01, "about one in a hundred"), (0.25, "about a quarter"), (0.5, "about half"),
        (0.99, "nearly all"),
    ],
)  # fmt: skip
def test_a_share_is_said_as_people_do(share: float, words: str) -> None:
    assert fraction_text(share) == words


def test_what_cannot_have_been_seen_is_refused() -> None:
    for pieces, tested, bad in ((5, 6, 0), (5, 2, 3)):
        with pytest.raises(ValueError, match="cannot"):
            estimate_rest(pieces, tested, bad, 1, 1)
    with pytest.raises(ValueError, match="split it"):
        estimate_rest(200_000, 1, 0, 1, 1)


def test_a_lot_with_none_bad_always_passes() -> None:
    assert acceptance_chance(20, 0.0, SamplingPlan(5, 0)) == 1.0
