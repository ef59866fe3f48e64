"""What closed jobs say about the suspects of the next one, before anything is tried."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.diagnosis.case import DiagnosisCase, RunStep
from inventory.reckoning.diagnosis.posterior import diagnose
from inventory.reckoning.diagnosis.priors import PriorConstants, smoothed_share, suspect_priors


def test_it_counts_all_suspects_alike_when_no_job_says_anything():
    priors = suspect_priors([0, 0, 0])
    assert priors.shares == pytest.approx((0.3, 0.3, 0.3, 0.1))
    assert priors.suspects == pytest.approx((0.075, 0.075, 0.075))
    assert priors.leak == pytest.approx(0.025)


def test_it_smooths_what_the_jobs_were_by_two_faults_spread_evenly():
    """Worked by hand: 6, 3 and 1 of 10 faults, with .6 more for each suspect and .2 for the rest, of 12."""
    priors = suspect_priors([6, 3, 1])
    assert priors.shares == pytest.approx((6.6 / 12, 3.6 / 12, 1.6 / 12, 0.2 / 12))
    assert priors.suspects[0] == pytest.approx(6.6 / 12 * 0.25)


def test_it_learns_that_it_is_often_something_not_on_the_list():
    assert suspect_priors([1, 0], elsewhere=5).leak > suspect_priors([1, 0]).leak


@given(st.lists(st.integers(0, 200), min_size=1, max_size=12), st.integers(0, 50))
def test_it_gives_shares_that_are_whole_and_in_the_order_of_the_jobs(times, elsewhere):
    priors = suspect_priors(times, elsewhere)
    assert sum(priors.shares) == pytest.approx(1.0)
    assert sorted(range(len(times)), key=lambda i: (times[i], i)) == sorted(
        range(len(times)), key=lambda i: (priors.suspects[i], i)
    )


@given(st.lists(st.integers(0, 30), min_size=2, max_size=6))
def test_once_the_complaint_is_known_the_chances_lie_near_the_shares(times):
    """A little above them, since several things may be bad at once, and below for what is masked or misread."""
    priors = suspect_priors(times)
    names = [f"suspect {number}" for number in range(len(times))]
    case = DiagnosisCase(tuple(zip(names, priors.suspects, strict=True)), priors.leak, (RunStep(works=False),))
    p_bad = diagnose(case).p_bad
    for name, share in zip(names, priors.shares, strict=False):
        assert share * 0.95 <= p_bad[name] <= share + 0.14


@pytest.mark.parametrize(
    ("times", "more", "sentence"),
    [
        ([], {}, "Name at least one suspect before asking how likely it is."),
        ([-1], {}, "The number of times that it was this suspect must be at least 0, not -1."),
        ([1.5], {}, "The number of times that it was this suspect must be a whole number, not 1.5."),
        ([1], {"elsewhere": -2}, "The number of times that it was something else must be at least 0, not -2."),
    ],
)
def test_it_refuses_what_is_no_count(times, more, sentence):
    with pytest.raises(ValueError) as refusal:
        suspect_priors(times, **more)
    assert str(refusal.value) == sentence


def test_it_refuses_smoothing_that_is_none():
    with pytest.raises(ValueError, match="The number of smoothing faults must be more than 0, not 0"):
        PriorConstants(faults=0)
    with pytest.raises(ValueError, match="must be a chance from 0 to 1, not 2"):
        PriorConstants(before=2)


def test_it_mixes_a_share_that_was_counted_with_what_is_assumed():
    assert smoothed_share(0, 0, 0.93, 5) == pytest.approx(0.93)
    assert smoothed_share(5, 5, 0.5, 5) == pytest.approx(0.75)
    assert smoothed_share(30, 1000, 0.9, 5) == pytest.approx(0.0343, abs=1e-4)
    with pytest.raises(ValueError, match="3 cannot be so often of 2"):
        smoothed_share(3, 2, 0.5, 1)
