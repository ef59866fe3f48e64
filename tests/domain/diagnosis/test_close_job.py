"""Closing a job: what it was makes the next one's chances better, and what it saw goes back to the spares."""

from __future__ import annotations

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import bins
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.diagnosis import diagnose, evidence, job_closing, surplus, swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.domain.proof import loans, pieces, standings
from inventory.reckoning.diagnosis.posterior import diagnose as weigh_case
from inventory.store import verify
from tests.factories import a_bin, a_job, a_part, a_person
from tests.proof_factories import a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")


def a_swap(result: str, name: str = "C-07") -> tuple[int, int, dict[str, int]]:
    """Swap a proved spare for the fan of a job; return the ids of piece, job, and suspects by name."""
    job = a_job()
    ids = {name: jobs.add_suspect(job.id, name).id for name in ("fan", "harness")}
    piece = a_piece(name)
    prove_fan(piece.id)
    swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job.id, suspect_id=ids["fan"]).loan.id, result)
    return piece.id, job.id, ids


def test_it_says_what_it_was_and_clears_the_others() -> None:
    job = a_job()
    fan, harness = jobs.add_suspect(job.id, "fan"), jobs.add_suspect(job.id, "harness")
    closed = job_closing.close_with_causes(
        job.id, was=[harness.id], found="Tach wire broken.", by=a_person(name="ines").id
    )
    assert (closed.was, closed.something_else, closed.person) == (("harness",), False, "ines")
    assert (closed.job.status, closed.job.found) == ("closed", "Tach wire broken.")
    assert {suspect.id: suspect.verdict for suspect in jobs.suspects(job.id)} == {fan.id: "good", harness.id: "bad"}
    assert job_closing.last_closing(job.id) == closed


def test_several_faults_and_something_not_on_the_list_can_be_told() -> None:
    job = a_job()
    two = [jobs.add_suspect(job.id, name).id for name in ("fan", "harness")]
    assert job_closing.close_with_causes(job.id, was=two, something_else=True).was == ("fan", "harness")
    other = a_job()
    jobs.add_suspect(other.id, "fan")
    jobs.add_suspect(other.id, "harness")
    closed = job_closing.close_with_causes(other.id, something_else=True)
    assert (closed.was, closed.something_else) == ((), True)
    nextone = a_job()
    jobs.add_suspect(nextone.id, "fan")
    priors = diagnose.diagnose_job(nextone.id).priors
    assert (priors.jobs, priors.elsewhere.times, priors.counts[0].times) == (2, 2, 1)  # harness was not named


def test_when_nobody_says_what_it_was_verdicts_stay() -> None:
    job = a_job()
    fan = jobs.add_suspect(job.id, "fan")
    jobs.set_verdict(fan.id, "bad")
    assert job_closing.close_with_causes(job.id).was == ("fan",)
    assert job_closing.last_closing(a_job().id) is None


def test_a_spare_that_still_failed_beside_the_real_fault_is_cleared_of_it() -> None:
    piece, job, ids = a_swap("still fails")
    doubted = standings.standing_of(piece)
    closed = job_closing.close_with_causes(job, was=[ids["harness"]])
    after = standings.standing_of(piece)
    (carried,) = closed.carried
    assert (doubted.word, after.word) == ("doubtful", "proved")
    assert carried.p_after > carried.p_before * 0.999
    assert after.p_good > doubted.p_good
    assert f"job {closed.job.number} closed; all that it saw counts" in after.steps[-1].words


def test_a_spare_that_still_failed_where_it_was_the_fan_is_condemned() -> None:
    """If it was the fan after all, the spare in its place must have been bad too (or the run misread)."""
    piece, job, ids = a_swap("still fails")
    (carried,) = job_closing.close_with_causes(job, was=[ids["fan"]]).carried
    assert carried.p_after < 0.75
    assert standings.standing_of(piece).word in ("doubtful", "failed")


def test_what_is_carried_back_is_the_posterior_of_the_whole_log() -> None:
    piece, job, ids = a_swap("works with it")
    evidence.record_observation(job, "repaired", suspect_id=ids["harness"], works=False)
    p_bad = diagnose.weigh_case(job).said.p_bad["C-07"]
    (carried,) = job_closing.close_with_causes(job).carried  # nobody says what it was: the log alone counts
    assert carried.p_after == pytest.approx(1 - p_bad)
    assert carried.piece_id == piece


def test_its_own_bench_test_is_not_counted_twice() -> None:
    piece, job, _ = a_swap("still fails")
    prove_fan(piece, Speed="900")
    with_test = 1 - diagnose.weigh_case(job).said.p_bad["C-07"]
    without = 1 - weigh_case(diagnose.weigh_case(job, exclude_tests_of=piece).made.case).p_bad["C-07"]
    (carried,) = job_closing.close_with_causes(job).carried
    assert carried.p_after == pytest.approx(without)
    assert with_test < without
    assert standings.standing_of(piece).word == "failed"


def test_a_job_opened_again_and_closed_otherwise_carries_the_later_answer() -> None:
    piece, job, ids = a_swap("still fails")
    job_closing.close_with_causes(job, was=[ids["harness"]])
    trusted = standings.standing_of(piece).p_good
    jobs.reopen_job(job)
    closed = job_closing.close_with_causes(job, was=[ids["fan"]])
    assert closed.was == ("fan",)
    assert standings.standing_of(piece).p_good < trusted * 0.8


def test_a_job_opened_again_lets_each_swap_count_by_itself_until_it_is_closed_anew() -> None:
    piece, job, ids = a_swap("still fails")
    by_itself = standings.standing_of(piece)
    job_closing.close_with_causes(job, was=[ids["harness"]])
    trusted = standings.standing_of(piece)
    assert (by_itself.word, trusted.word) == ("doubtful", "proved")
    jobs.reopen_job(job)
    again = standings.standing_of(piece)
    assert (again.word, again.p_good) == ("doubtful", pytest.approx(by_itself.p_good))
    swap_tests.reopen_loan(loans.loans(job_id=job).items[0].id, reason="tapped wrongly")
    assert standings.standing_of(piece).word == "proved"  # nothing of that swap is left
    swap_tests.cancel_loan(loans.loans(job_id=job).items[0].id, reason="never fitted")
    job_closing.close_with_causes(job, was=[ids["harness"]])
    assert standings.standing_of(piece).p_good > by_itself.p_good


def test_a_closed_job_does_not_wait_for_anything() -> None:
    job = a_job()
    jobs.close_job(job.id)
    with pytest.raises(Conflict, match="is closed: take another job in hand, or reopen this one"):
        jobs.mark_waiting(job.id, "a header in the post")
    assert jobs.mark_waiting(jobs.reopen_job(job.id).id, "a header in the post").status == "waiting"


def test_a_job_on_which_nothing_was_lent_carries_nothing() -> None:
    job = a_job()
    fan = jobs.add_suspect(job.id, "fan")
    assert job_closing.close_with_causes(job.id, was=[fan.id]).carried == ()


def test_a_log_that_cannot_be_weighed_closes_all_the_same_and_says_so() -> None:
    piece, job, ids = a_swap("still fails")
    for number in range(22):
        jobs.add_suspect(job, f"suspect {number}")
    closed = job_closing.close_with_causes(job, was=[ids["harness"]])
    assert (closed.job.status, closed.carried) == ("closed", ())
    assert "22 is the most that can be worked out exactly" in closed.not_carried
    assert standings.standing_of(piece).word != "doubtful"  # the job is closed: its single swap stands


def test_it_refuses_a_suspect_of_another_job_and_while_a_piece_is_out() -> None:
    job, other = a_job(), a_job()
    mine = jobs.add_suspect(job.id, "fan")
    with pytest.raises(Conflict, match="fan is a suspect of another job"):
        job_closing.close_with_causes(other.id, was=[mine.id])
    swap_tests.take_piece(a_piece().id, job.id, suspect_id=mine.id)
    with pytest.raises(Conflict, match="bring back or leave fitted first"):
        job_closing.close_with_causes(job.id, was=[mine.id])
    assert jobs.suspects(job.id)[0].verdict == ""  # nothing half-written


# ---- what is left over -----------------------------------------------------------------------------------


def a_fan_bought_on_a_guess(*, ran: bool) -> tuple[int, int, int]:
    """Pull a new fan for a job that was the harness; return the ids of job, lot and bin."""
    part = a_part("24 V fan", "fan")
    shelf = a_bin(part)
    lot = receive.receive(part.id, 2, shelf.id).lot_ids[0]
    job = a_job()
    fan, harness = jobs.add_suspect(job.id, "fan", part.id), jobs.add_suspect(job.id, "harness")
    pull.pull(1, lot_id=lot, job_id=job.id)
    evidence.record_observation(job.id, "new part", suspect_id=fan.id, works=False)
    if ran:
        evidence.record_observation(job.id, "repaired", suspect_id=harness.id, works=True)
        evidence.record_observation(job.id, "new part", suspect_id=fan.id, works=True)
    job_closing.close_with_causes(job.id, was=[harness.id])
    return job.id, lot, shelf.id


def test_a_part_bought_and_not_needed_is_offered_as_a_spare() -> None:
    job, lot, shelf = a_fan_bought_on_a_guess(ran=True)
    (offer,) = surplus.surplus_parts(job)
    assert (offer.lot.id, offer.quantity, offer.taken, offer.ran, offer.bin_id) == (lot, 1, True, True, shelf)
    assert offer.sentence == (
        "24 V fan: it was not the fan. The job took it; the unit worked with it, which is its proof. "
        "It can be kept as a spare."
    )


def test_kept_it_is_a_piece_of_its_own_and_its_run_in_the_unit_is_its_proof() -> None:
    job, lot, shelf = a_fan_bought_on_a_guess(ran=True)
    into = a_bin(name="S-1", mixed=True)
    spare = surplus.keep_as_spare(job, lot_id=lot, bin_id=into.id, name="C-07", ran=True)
    assert spare.sentence == ("C-07 is a spare in S-1 now. Its run in the unit is its proof; print its label.")
    record = pieces.piece(spare.piece.id)
    assert (record.standing.word, record.where.words, record.piece.spare) == ("proved", "in bin S-1", True)
    assert bins.holdings(bin_id=shelf)[0].quantity == 1  # the other one
    assert surplus.surplus_parts(job) == []
    assert verify.verify_ledger().sound
    with pytest.raises(Conflict, match="nothing left over of that lot"):
        surplus.keep_as_spare(job, lot_id=lot)


def test_one_that_never_ran_asks_to_be_proved() -> None:
    job, lot, _ = a_fan_bought_on_a_guess(ran=False)
    (offer,) = surplus.surplus_parts(job)
    assert not offer.ran
    spare = surplus.keep_as_spare(job, lot_id=lot, name="C-08")
    assert "Prove it before you rely on it" in spare.sentence
    assert pieces.piece(spare.piece.id).standing.word == "unproved"


def test_one_that_came_in_for_the_job_and_lies_in_a_bin_is_offered_too() -> None:
    part = a_part("24 V fan", "fan")
    shelf, job = a_bin(part), a_job()
    fan = jobs.add_suspect(job.id, "fan", part.id)
    seller = suppliers.add_supplier("Northgate Components")
    drafted = orders.draft_order(seller.id, [NewOrderLine(part.id, 1, job_id=job.id)])
    placed = orders.place_order(drafted.id)
    receive.receive(part.id, 1, shelf.id, supplier_id=seller.id, order_line_id=placed.lines[0].id)
    job_closing.close_with_causes(job.id, something_else=True)
    assert jobs.suspects(job.id)[0].id == fan.id
    (offer,) = surplus.surplus_parts(job.id)
    assert (offer.taken, offer.bin_id) == (False, shelf.id)
    assert surplus.keep_as_spare(job.id, lot_id=offer.lot.id).bin_id == shelf.id


def test_a_piece_that_the_job_took_goes_back_as_a_spare() -> None:
    piece = a_piece(kind="supply", part_name="36 V supply", spare=False)
    job = a_job()
    jobs.add_suspect(job.id, "supply", piece.part_id)
    pull.pull_piece(piece.id, job_id=job.id)
    assert surplus.surplus_parts(job.id) == []  # nobody said yet that it was not the supply
    job_closing.close_with_causes(job.id, something_else=True)
    (offer,) = surplus.surplus_parts(job.id)
    assert offer.piece_id == piece.id
    spare = surplus.keep_as_spare(job.id, piece_id=piece.id, name="C-01")
    record = pieces.piece(piece.id)
    assert (spare.piece.id, record.piece.name, record.piece.spare) == (piece.id, "C-01", True)
    assert record.where.state == "in bin"
    assert surplus.surplus_parts(job.id) == []


def test_it_asks_which_part_is_to_be_kept() -> None:
    job = a_job()
    for which in ({}, {"lot_id": 1, "piece_id": 1}):
        with pytest.raises(Invalid, match="Say which part is to be kept"):
            surplus.keep_as_spare(job.id, **which)
    with pytest.raises(Conflict, match="nothing left over"):
        surplus.keep_as_spare(job.id, lot_id=1)


def test_every_run_that_still_fails_may_harm_the_spare_and_counts_once() -> None:
    job = a_job()
    fan = jobs.add_suspect(job.id, "fan")
    jobs.add_suspect(job.id, "harness")
    piece = a_piece("C-07")
    prove_fan(piece.id)
    loan = swap_tests.take_piece(piece.id, job.id, suspect_id=fan.id).loan
    start = standings.standing_of(piece.id).p_good
    for turn in (1, 2):
        evidence.record_observation(job.id, "swapped", works=False, loan_ids=[loan.id])
        assert standings.standing_of(piece.id).p_good == pytest.approx(start * 0.995**turn, rel=1e-6)
    swap_tests.bring_back_piece(loan.id, "still fails")  # tells the second run again
    steps = standings.standing_of(piece.id).steps
    assert [step.words for step in steps if "may have harmed" in step.words or "that failed" in step.words] == [
        f"a run of the unit of job {job.number} that failed: 1 x 0.5 %",
        "that run may have harmed it: 0.5 % a time",
    ]
