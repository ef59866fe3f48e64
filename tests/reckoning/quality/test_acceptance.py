"""Incoming checks: how many to test, when the answer is certain, and what it says of the rest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.common.kind_defaults import KINDS
from inventory.reckoning.quality.acceptance import (
    Sample,
    fraction,
    pass_chance,
    sample_for,
    sample_of,
    told_by,
    verdict,
)
from inventory.reckoning.quality.sampling import rest_of_lot


def test_a_lot_smaller_than_the_sample_is_tested_whole() -> None:
    assert sample_of(3, 5) == Sample(3, 0)
    assert sample_for(1, 0.9, 0.05) == Sample(1, 0)


@pytest.mark.parametrize(
    ("test", "accept"), [(5, 5), (1, 1), (0, 0)], ids=["all may be bad", "the only one may be bad", "none tested"]
)
def test_a_plan_that_finds_nothing_out_is_refused(test: int, accept: int) -> None:
    with pytest.raises(ValueError, match=r"\.$"):
        sample_of(20, test, accept)


@pytest.mark.parametrize(("sure", "most_bad"), [(0.9, 0.0), (0.9, 1.0), (0.0, 0.1), (1.0, 0.1)])
def test_a_question_without_an_answer_is_refused(sure: float, most_bad: float) -> None:
    with pytest.raises(ValueError, match="Say"):
        sample_for(20, sure, most_bad)


def test_more_bad_ones_are_never_accepted_than_the_whole_lot_may_have() -> None:
    assert sample_for(20, 0.9, 0.05, accept=3).accept == 1
    assert sample_for(10, 0.9, 0.05, accept=3) == Sample(9, 0)


def test_a_larger_lot_is_never_asked_for_fewer_than_one_of_ten_thousand() -> None:
    assert sample_for(10_000, 0.9, 0.05).tests <= sample_for(10_001, 0.9, 0.05).tests <= 45
    assert sample_for(10**9, 0.9, 0.05).tests == 45  # 0.95 ** 45 = .0994, 0.95 ** 44 = .1047


@pytest.mark.parametrize(
    ("tested", "bad", "said"),
    [
        (0, 0, ""), (3, 0, ""), (4, 0, "accept"), (4, 1, ""), (5, 1, "accept"), (2, 2, "reject"), (6, 2, "reject"),
    ],
)  # fmt: skip
def test_it_stops_as_soon_as_nothing_can_change_the_answer(tested: int, bad: int, said: str) -> None:
    assert verdict(Sample(5, 1), tested, bad) == said  # test 5, accept at most 1


@given(st.integers(1, 12), st.integers(0, 11), st.lists(st.booleans(), min_size=12, max_size=12))
def test_stopping_early_never_says_anything_else_than_testing_on(tests: int, accept: int, bad: list[bool]) -> None:
    asked = Sample(tests, min(accept, tests - 1))
    said = [verdict(asked, n, sum(bad[:n])) for n in range(1, tests + 1)]
    assert said[-1] == ("reject" if sum(bad[:tests]) > asked.accept else "accept")
    assert set(said) <= {"", said[-1]}


def test_sorting_goes_on_to_the_last_one_whatever_is_found() -> None:
    asked = Sample(4, 4)
    assert [verdict(asked, n, n, every=True) for n in range(5)] == ["", "", "", "", "accept"]


# ---- what it says of the rest ----------------------------------------------------------------------------


def test_two_bad_headers_of_five_tell_of_a_third_of_the_rest() -> None:
    headers = KINDS["connector"]
    found = told_by(20, 5, 2, headers.beta_a, headers.beta_b)
    assert fraction(found.share) == "about a third"
    assert (found.low, found.high) == (0, 11)
    assert found.p_bad_batch > 0.75


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda one: one.kind)
def test_when_none_failed_it_hardly_differs_from_the_kinds_own_share(kind: object) -> None:
    a, b = kind.beta_a, kind.beta_b  # type: ignore[attr-defined]
    found, usual = told_by(50, 10, 0, a, b), rest_of_lot(50, 10, 0, a, b)
    assert 1 - usual.p_next_good <= found.share <= 1 - usual.p_next_good + 0.002


@given(st.integers(0, 40), st.data())
def test_each_bad_one_more_speaks_against_the_rest(rest: int, data: st.DataObject) -> None:
    tested = data.draw(st.integers(1, 15))
    bad = data.draw(st.integers(0, tested - 1))
    fewer, more = (told_by(rest + tested, tested, one, 0.5, 24.5) for one in (bad, bad + 1))
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
    assert fraction(share) == words


def test_what_cannot_have_been_seen_is_refused() -> None:
    for pieces, tested, bad in ((5, 6, 0), (5, 2, 3)):
        with pytest.raises(ValueError, match="cannot"):
            told_by(pieces, tested, bad, 1, 1)
    with pytest.raises(ValueError, match="split it"):
        told_by(200_000, 1, 0, 1, 1)


def test_a_lot_with_none_bad_always_passes() -> None:
    assert pass_chance(20, 0.0, Sample(5, 0)) == 1.0
