"""What next while something is under way: a piece is out, a swap worked, the old one was put back, it stays."""

from __future__ import annotations

import logging

import pytest

from inventory.domain.catalogue import lots
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.diagnosis import diagnose, evidence, job_closing, next_step, swap_tests
from inventory.domain.diagnosis.diagnosis_records import NextStepRecord, NextStepsRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull
from inventory.domain.proof import pieces, standings
from inventory.store.tables import Loan
from tests.factories import a_job, a_part
from tests.proof_factories import a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")


class Bench:
    """A job with a fan and a harness as suspects, and the proved fan C-07 with the loan by which it is out."""

    def __init__(self) -> None:
        piece = a_piece("C-07")
        prove_fan(piece.id)
        self.piece, self.job = piece.id, a_job()
        self.fan = jobs.add_suspect(self.job.id, "fan", piece.part_id).id
        self.harness = jobs.add_suspect(self.job.id, "harness").id
        self.loan = swap_tests.take_piece(self.piece, self.job.id, suspect_id=self.fan).loan.id

    def next(self) -> NextStepsRecord:
        return next_step.next_steps(self.job.id)

    def ended(self, result: str = "works with it") -> Bench:
        swap_tests.bring_back_piece(self.loan, result)
        return self

    def put_back(self, works: bool) -> None:
        evidence.record_observation(self.job.id, "put back", suspect_id=self.fan, works=works)


def hows(next_steps: NextStepsRecord) -> list[str]:
    return [step.how or step.action for step in next_steps.steps]


def step(next_steps: NextStepsRecord, how: str) -> NextStepRecord:
    return next(step for step in next_steps.steps if how in (step.how, step.action))


# ---- a piece is out --------------------------------------------------------------------------------------


def test_a_piece_that_is_out_is_to_be_run_and_its_result_noted_before_all_else() -> None:
    bench = Bench()
    next_steps = bench.next()
    first = next_steps.steps[0]
    assert first.words == "Run the unit with C-07 in place of the fan, and tap what it does"
    assert (first.how, first.loan_id, first.piece_id) == ("out", bench.loan, bench.piece)
    assert next_steps.sentence.startswith(first.words + ": that ends the job with a chance of ")
    rest = [step.total_minor for step in next_steps.steps[1:]]
    assert rest == sorted(rest)


def test_it_costs_and_promises_what_swapping_it_in_did_before_it_was_taken() -> None:
    """Which bin it lies in changes nothing of its chances or of the minutes at the bench."""
    bench = Bench()
    out = bench.next().steps[0]
    swap_tests.cancel_loan(bench.loan, reason="to compare")
    free = step(bench.next(), "spare")
    assert (out.cost_now_minor, out.total_minor) == (free.cost_now_minor, free.total_minor)
    assert out.p_ends == pytest.approx(free.p_ends, abs=1e-6)


def test_a_piece_taken_for_no_suspect_stands_in_for_the_only_one_of_its_part() -> None:
    bench = Bench()
    swap_tests.cancel_loan(bench.loan, reason="for nobody in particular")
    again = swap_tests.take_piece(bench.piece, bench.job.id).loan.id
    assert (bench.next().steps[0].how, bench.next().steps[0].loan_id) == ("out", again)


def test_a_piece_that_the_unit_still_failed_with_is_to_come_back() -> None:
    bench = Bench()
    evidence.record_observation(bench.job.id, "swapped", works=False, loan_ids=[bench.loan])
    next_steps = bench.next()
    assert next_steps.sentence.startswith("Bring C-07 back: the unit still failed with it. ")
    assert not {"out", "spare", "keep"} & set(hows(next_steps))


def test_a_piece_that_the_unit_ran_with_may_stay_without_more_work() -> None:
    bench = Bench()
    evidence.record_observation(bench.job.id, "swapped", works=True, loan_ids=[bench.loan])
    first = bench.next().steps[0]
    assert first.words == "Let C-07 stay fitted in place of the fan, or bring it back"
    assert (first.how, first.minutes) == ("out", 0.0)


def test_when_all_is_mended_it_reminds_of_what_is_still_out() -> None:
    bench = Bench()
    evidence.record_observation(bench.job.id, "repaired", suspect_id=bench.harness, works=True)
    next_steps = bench.next()
    assert next_steps.sentence == f"Bring C-07 back, with its result. {next_step.NOTHING_TO_DO}"


# ---- a swap worked, and the piece came back --------------------------------------------------------------


def test_after_it_worked_it_says_so_and_offers_to_keep_it_fitted_or_to_be_sure() -> None:
    bench = Bench().ended()
    next_steps = bench.next()
    bad = next(suspect.p_bad for suspect in diagnose.diagnose_job(bench.job.id).suspects if suspect.name == "fan")
    assert next_steps.sentence.startswith(
        f"The unit worked with C-07, so the old fan is bad with a chance of {bad * 100:.1f} %. "
    )
    assert "spare" not in hows(next_steps)  # the same swap once more would say nothing new
    assert step(next_steps, "keep").words == "Let C-07 stay fitted in place of the fan"
    assert step(next_steps, "keep").loan_id == bench.loan
    assert step(next_steps, "run again").words == "Put the old fan back and run it, to be sure (A-B-A)"
    assert "order" in hows(next_steps)


def test_the_old_one_that_fails_again_settles_it_and_is_not_asked_for_twice() -> None:
    bench = Bench().ended()
    before = next(suspect.p_bad for suspect in diagnose.diagnose_job(bench.job.id).suspects if suspect.name == "fan")
    bench.put_back(works=False)
    next_steps = bench.next()
    after = next(suspect.p_bad for suspect in diagnose.diagnose_job(bench.job.id).suspects if suspect.name == "fan")
    assert after > before
    assert "run again" not in hows(next_steps)
    assert "keep" in hows(next_steps)


def test_the_old_one_that_works_again_speaks_for_a_contact_that_healed() -> None:
    bench = Bench().ended()
    bench.put_back(works=True)
    fan = next(suspect for suspect in diagnose.diagnose_job(bench.job.id).suspects if suspect.name == "fan")
    assert fan.p_bad < 0.5


def test_a_result_that_was_taken_back_is_under_way_again() -> None:
    bench = Bench().ended()
    swap_tests.reopen_loan(bench.loan, reason="tapped wrongly")
    assert bench.next().steps[0].how == "out"


def test_a_piece_that_worked_and_is_on_hold_or_gone_is_not_offered_to_stay() -> None:
    bench = Bench().ended()
    lots.hold_lot(pieces.piece(bench.piece).lot.id, "two came back")
    assert not {"keep", "spare"} & set(hows(bench.next()))


# ---- it stays after all ----------------------------------------------------------------------------------


def test_a_piece_that_worked_stays_after_all_in_one_step_and_the_job_is_done() -> None:
    bench = Bench().ended()
    stayed = swap_tests.refit_returned_piece(bench.loan)
    assert stayed.loan.stayed
    assert stayed.loan.id != bench.loan
    assert pieces.piece(bench.piece).where.job_number == bench.job.number
    assert bench.next().sentence == next_step.NOTHING_TO_DO


def test_staying_after_the_old_one_failed_again_leaves_the_spare_fitted() -> None:
    bench = Bench().ended()
    bench.put_back(works=False)
    swap_tests.refit_returned_piece(bench.loan)
    fitted = [other.name for other in diagnose.diagnose_job(bench.job.id).others if other.fitted]
    assert fitted == ["C-07"]
    assert bench.next().steps == ()


def test_staying_teaches_the_spare_nothing_that_its_result_did_not() -> None:
    """The same run told twice is one run; only the mating counts again."""
    bench = Bench().ended()
    before = standings.standing_of(bench.piece)
    swap_tests.refit_returned_piece(bench.loan)
    after = standings.standing_of(bench.piece)
    assert (after.word, after.matings) == ("proved", before.matings + 1)
    assert after.p_good == pytest.approx(before.p_good, abs=0.002)


def test_only_a_piece_that_worked_and_came_back_can_stay_after_all() -> None:
    bench = Bench()
    with pytest.raises(Conflict, match="C-07 is still out: tap what the unit does, and that it stays"):
        swap_tests.refit_returned_piece(bench.loan)
    bench.ended("still fails")
    with pytest.raises(Conflict, match="that takes one that the unit worked with"):
        swap_tests.refit_returned_piece(bench.loan)
    again = swap_tests.take_piece(bench.piece, bench.job.id, suspect_id=bench.fan).loan.id
    swap_tests.leave_piece_fitted(again)
    with pytest.raises(Conflict, match="that takes one that the unit worked with and that came back"):
        swap_tests.refit_returned_piece(again)


def test_it_cannot_stay_in_a_closed_job_or_once_it_was_taken_elsewhere() -> None:
    bench = Bench().ended()
    number = Loan.select().count()
    swap_tests.take_piece(bench.piece, a_job().id)
    with pytest.raises(Conflict, match="C-07 is out with job"):
        swap_tests.refit_returned_piece(bench.loan)
    other = Bench().ended()
    job_closing.close_with_causes(other.job.id, was=[other.fan])
    with pytest.raises(Conflict, match="is closed"):
        swap_tests.refit_returned_piece(other.loan)
    assert Loan.select().count() == number + 2  # nothing half done


# ---- a fault that comes and goes -------------------------------------------------------------------------


def test_a_suspect_that_comes_and_goes_is_cleared_less_by_a_unit_that_works() -> None:
    def harness_after(mask: float | None) -> float:
        bench = Bench()
        jobs.set_mask(bench.harness, mask)
        bench.ended()
        return next(
            suspect.p_bad for suspect in diagnose.diagnose_job(bench.job.id).suspects if suspect.name == "harness"
        )

    assert harness_after(None) < harness_after(0.3) < harness_after(0.6)


def test_its_complaint_counts_as_that_of_any_other() -> None:
    bench = Bench()
    before = diagnose.diagnose_job(bench.job.id).suspects
    jobs.set_mask(bench.fan, 0.5)
    assert diagnose.diagnose_job(bench.job.id).suspects == before


@pytest.mark.parametrize("mask", [-0.1, 1.0, float("nan"), "often", True])
def test_a_mask_is_a_chance_short_of_always(mask: object) -> None:
    bench = Bench()
    with pytest.raises(Invalid, match=r"a number from 0 to 0\.99"):
        jobs.set_mask(bench.fan, mask)  # type: ignore[arg-type]
    assert [suspect.mask for suspect in jobs.suspects(bench.job.id)] == [None, None]


# ---- at a glance -----------------------------------------------------------------------------------------


def test_twelve_suspects_ask_the_database_hardly_more_often_than_three(caplog: pytest.LogCaptureFixture) -> None:
    job, part = a_job(), a_part("24 V fan", "fan")

    def queries() -> int:
        caplog.clear()
        with caplog.at_level(logging.DEBUG, logger="peewee"):
            next_step.next_steps(job.id)
        return len(caplog.records)

    for number in range(3):
        jobs.add_suspect(job.id, f"fan {number}", part.id if number == 0 else a_part(f"fan {number}", "fan").id)
    few = queries()
    for number in range(3, 12):
        jobs.add_suspect(job.id, f"fan {number}", a_part(f"fan {number}", "fan").id)
    assert queries() <= few + 2 * 9


def test_pulling_is_still_there_for_what_is_no_spare() -> None:
    bench = Bench().ended()
    pull.pull_piece(bench.piece, job_id=bench.job.id)
    assert "keep" not in hows(bench.next())
