"""Minutes that steps really took: learned from the log once enough are timed, else the assumed ones, and said so."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from inventory.domain.common import clock, shop
from inventory.domain.common.errors import Invalid
from inventory.domain.diagnosis import next_step, spare_value, step_durations
from inventory.domain.diagnosis import swap_tests as lend
from inventory.domain.jobs import jobs
from inventory.domain.proof import proofs
from tests.factories import a_job
from tests.proof_factories import a_piece, built_in_procedure_id, fan_readings

pytestmark = pytest.mark.usefixtures("bench")
NOW = datetime(2026, 9, 30, 9, tzinfo=UTC)


def swap_tests(*minutes: float) -> None:
    piece, job = a_piece("C-07"), a_job()
    for number, lasted in enumerate(minutes):
        with clock.freeze_at(NOW + timedelta(days=number)):
            loan = lend.take_piece(piece.id, job.id).loan
        with clock.freeze_at(NOW + timedelta(days=number, minutes=lasted)):
            lend.bring_back_piece(loan.id, "cannot tell")


def figure(name: str) -> tuple[str, bool]:
    job = a_job()
    jobs.add_suspect(job.id, "joint")
    next_steps = next(figure for figure in next_step.next_steps(job.id).figures if figure.name == name)
    return next_steps.words, next_steps.assumed


def test_too_few_leave_the_assumed_minutes_and_say_how_many_there_are() -> None:
    assert figure("minutes_swap") == (
        "Minutes to put a spare in and run the unit. 15; none of the 8 timed swap tests that it takes to learn it "
        "yet", True,
    )  # fmt: skip
    swap_tests(22, 24, 26)
    assert figure("minutes_swap") == (
        "Minutes to put a spare in and run the unit. 15; 3 of the 8 timed swap tests that it takes to learn it",
        True,
    )


def test_eight_timed_swap_tests_set_the_minutes_by_their_median() -> None:
    swap_tests(20, 21, 22, 23, 25, 26, 27, 28)
    assert step_durations.shop_with_durations()[0].minutes_swap == 24
    assert figure("minutes_swap") == (
        "Minutes to put a spare in and run the unit. 24: the median of 8 that were timed",
        False,
    )


def test_tests_over_lunch_or_night_and_slips_of_the_finger_are_not_timed() -> None:
    swap_tests(20, 155, 60 * 14, 0.2, 21)
    assert step_durations.step_durations()["minutes_swap"].timed == 2


def test_minutes_that_the_owner_set_are_never_overruled() -> None:
    swap_tests(*[25] * 8)
    shop.edit_shop(minutes_swap=15)
    assert step_durations.shop_with_durations()[0].minutes_swap == 15
    assert figure("minutes_swap") == ("Minutes to put a spare in and run the unit. 15", False)


def test_advice_reckons_with_the_learned_minutes() -> None:
    swap_tests(*[25] * 8)
    job = a_job()
    piece = a_piece("C-08")
    jobs.add_suspect(job.id, "fan", piece.part_id)
    swap = next(step for step in next_step.next_steps(job.id).steps if step.how == "spare")
    assert swap.minutes == 25


def test_proofs_are_timed_by_whoever_says_how_long_they_took() -> None:
    piece = a_piece("C-07")
    for _ in range(8):
        proved = proofs.record_proof(piece.id, built_in_procedure_id("Fan bench run"), fan_readings(), minutes=6.4)
    assert proved.proof.minutes == 6.4
    assert step_durations.shop_with_durations()[0].minutes_proof == 6
    words = [figure.words for figure in spare_value.spare_values().figures if figure.name == "minutes_proof"]
    assert words == ["Minutes to prove a spare. 6: the median of 8 that were timed"]


@pytest.mark.parametrize("minutes", [-1, 10_001, float("nan"), True, "ten"])
def test_a_proof_cannot_take_impossible_minutes(minutes: object) -> None:
    piece = a_piece()
    with pytest.raises(Invalid, match="A test takes from 0 to 10000 minutes"):
        proofs.record_proof(piece.id, built_in_procedure_id("Fan bench run"), fan_readings(), minutes=minutes)  # type: ignore[arg-type]
