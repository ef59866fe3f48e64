"""Lending a piece for a swap test: out, back with a result, or it stays fitted."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from inventory.domain.catalogue import lots, parts, stock_totals
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, overview, pull
from inventory.domain.proof import loans, pieces, proofs, spares, standings
from inventory.store import verify
from tests.factories import a_bin, a_job, a_part, a_person
from tests.proof_factories import FAN_ATTRIBUTES, a_piece, prove_fan
from tests.store.test_at_once import together

pytestmark = pytest.mark.usefixtures("bench")


def a_proved(name: str = "C-07", **more: Any) -> int:
    piece = a_piece(name, **more)
    prove_fan(piece.id)
    return piece.id


def test_it_goes_out_to_a_job_in_place_of_a_suspect_with_what_is_believed_of_it() -> None:
    job, ines = a_job(), a_person(name="ines")
    suspect = jobs.add_suspect(job.id, "rear fan")
    piece = a_proved(fits=["Corvid 7 moving head"])
    lent = swap_tests.take_piece(piece, job.id, suspect_id=suspect.id, by=ines.id)
    assert lent.sentence.startswith(f"C-07 is out with job {job.number} in place of rear fan, due back ")
    assert (lent.loan.standing, lent.loan.p_good) == ("proved", lent.standing.p_good)
    assert lent.loan.due - lent.loan.taken == pytest.approx(timedelta(hours=48), abs=timedelta(seconds=1))
    assert (lent.loan.taken_by, lent.loan.suspect, lent.loan.ended) == (ines.shown_as, "rear fan", None)
    assert lent.warnings == ()
    assert [caution.key for caution in lent.cautions] == ["moving"]
    assert pieces.piece(piece).where.loan_id == lent.loan.id


def test_before_a_supply_is_swapped_the_caution_shows() -> None:
    piece = a_piece(kind="supply", part_name="24 V supply", caution="Load it before you measure.")
    lent = swap_tests.take_piece(piece.id, a_job().id)
    assert [caution.key for caution in lent.cautions] == ["mains", "stored_charge", ""]
    assert "can kill" in lent.cautions[0].text
    assert lent.cautions[2].text == "Load it before you measure."


def test_one_that_is_not_proved_may_be_taken_and_its_worth_is_stated() -> None:
    piece = a_piece("C-09", fits=["Corvid 7 moving head"], received={"origin": "donor", "donor_worked": False})
    (warning,) = swap_tests.take_piece(piece.id, a_job().id).warnings
    assert warning == (
        "C-09 is doubtful (80 % good). The chance that it is good is 80 %, below 90 %. "
        "If the unit still fails with it, a suspect that was at 50 % falls to 17.2 %."
    )


def test_a_piece_is_with_one_job_at_a_time() -> None:
    piece, job = a_proved(), a_job()
    swap_tests.take_piece(piece, job.id)
    with pytest.raises(Conflict, match=f"Piece C-07 is out with job {job.number}: bring it back first") as refused:
        swap_tests.take_piece(piece, a_job().id)
    assert refused.value.reason == "piece_out"
    for act in (
        lambda: pull.pull_piece(piece, job_id=job.id),
        lambda: adjustments.scrap(piece_id=piece, reason="dropped"),
        lambda: jobs.close_job(job.id),
    ):
        with pytest.raises(Conflict):
            act()


def test_two_who_take_it_at_once_get_one_success_and_one_refusal() -> None:
    piece, first, two = a_proved(), a_job(), a_job()
    results = together([lambda: swap_tests.take_piece(piece, first.id), lambda: swap_tests.take_piece(piece, two.id)])
    assert sorted(isinstance(result, Conflict) for result in results) == [False, True]
    assert len(loans.open_loans()) == 1


def test_it_refuses_a_piece_that_is_gone_a_closed_job_and_a_suspect_of_another_job() -> None:
    piece, job, other = a_proved(), a_job(), a_job()
    with pytest.raises(Conflict, match="is a suspect of another job"):
        swap_tests.take_piece(piece, job.id, suspect_id=jobs.add_suspect(other.id, "fan").id)
    jobs.close_job(other.id)
    with pytest.raises(Conflict, match="is closed: take another job in hand"):
        swap_tests.take_piece(piece, other.id)
    pull.pull_piece(piece, job_id=job.id)
    with pytest.raises(Conflict, match=f"Piece C-07 is fitted in job {job.number}: choose another one"):
        swap_tests.take_piece(piece, job.id)
    for bad in (0, -1, 10**6, True, "2", 1.5):
        with pytest.raises(Invalid, match="lent for 1 to 8760 hours"):
            swap_tests.take_piece(a_piece().id, job.id, hours=bad)  # type: ignore[arg-type]
    with pytest.raises(NotFound):
        swap_tests.take_piece(999, job.id)
    assert loans.open_loans() == []


def test_one_from_a_lot_on_hold_only_goes_out_when_that_is_said_and_may_not_stay() -> None:
    piece, job = a_proved(), a_job()
    lots.hold_lot(pieces.piece(piece).lot.id, "one of five dead")
    with pytest.raises(Conflict, match=r"is on hold \(one of five dead\)"):
        swap_tests.take_piece(piece, job.id)
    lent = swap_tests.take_piece(piece, job.id, hold_ok=True)
    assert any("is on hold: it may not stay fitted" in warning for warning in lent.warnings)
    with pytest.raises(Conflict, match="is on hold"):
        swap_tests.leave_piece_fitted(lent.loan.id)
    assert loans.loan(lent.loan.id).ended is None  # nothing half-written
    assert proofs.proofs(piece_id=piece, passed=True).items[0].procedure == "Fan bench run"
    swap_tests.bring_back_piece(lent.loan.id, "cannot tell")


def test_it_warns_when_the_part_is_not_the_suspects_or_not_known_to_fit() -> None:
    job = a_job()
    other = a_part("12 V fan", "fan")
    suspect = jobs.add_suspect(job.id, "rear fan", other.id)
    piece = a_proved()
    (warning,) = swap_tests.take_piece(piece, job.id, suspect_id=suspect.id).warnings
    assert warning == "This is 24 V fan, the suspect is 12 V fan: compare plug, pins and ratings."
    swap_tests.bring_back_piece(loans.open_loans()[0].id, "cannot tell")
    parts.set_substitute(other.id, pieces.piece(piece).part.id, "longer wires")
    (warning,) = swap_tests.take_piece(piece, job.id, suspect_id=suspect.id).warnings
    assert warning == "It stands in for 12 V fan, and differs: longer wires."
    swap_tests.bring_back_piece(loans.open_loans()[0].id, "cannot tell")
    (warning,) = swap_tests.take_piece(piece, job.id).warnings
    assert warning == "24 V fan is not noted as fitting the Corvid 7 moving head: compare plug, pins and ratings."


def test_a_unit_that_works_with_it_proves_it() -> None:
    piece, job = a_piece("C-07"), a_job()
    back = swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job.id).loan.id, "works with it")
    assert (back.before.word, back.after.word) == ("unproved", "proved")
    assert back.proof is not None
    assert (back.proof.procedure, back.proof.job_number, back.proof.passed) == ("ran in the unit", job.number, True)
    assert (back.loan.result, back.loan.stayed, back.entry) == ("works with it", False, None)
    assert back.sentence.startswith(f"Job {job.number}: works with it. C-07 is back in ")
    assert "it is proved (98 % good before, " in back.sentence
    assert pieces.piece(piece.id).where.state == "in bin"
    with pytest.raises(Conflict, match="noted already"):
        proofs.record_run_in_unit(piece.id, job.id)


@pytest.mark.parametrize(("result", "word"), [("still fails", "doubtful"), ("cannot tell", "proved")])
def test_other_results_prove_nothing(result: str, word: str) -> None:
    piece = a_proved()
    back = swap_tests.bring_back_piece(swap_tests.take_piece(piece, a_job().id).loan.id, result)
    assert (back.proof, back.after.word) == (None, word)
    assert back.after.p_good < back.before.p_good  # worn by one mating, and harmed by a unit that fails


def test_a_unit_that_still_fails_says_less_of_it_the_more_else_is_suspected() -> None:
    def after(suspects: int) -> tuple[float | None, float]:
        piece, job = a_proved(f"C-{suspects}"), a_job()
        mine = jobs.add_suspect(job.id, "fan")
        for number in range(suspects):
            jobs.add_suspect(job.id, f"other {number}")
        back = swap_tests.bring_back_piece(
            swap_tests.take_piece(piece, job.id, suspect_id=mine.id).loan.id, "still fails"
        )
        return back.loan.others_good, back.after.p_good

    (few_a, few), (many_a, many) = after(0), after(3)
    # by hand, from priors of .25 x .9 over the suspects and .025 for the rest, and the complaint seen failing:
    # one suspect: (.225 x .975 x .98 + .775 x .975 x .01) / (the same + .025 x .98); four: .05625 each
    assert (few_a, many_a) == (pytest.approx(0.900827, abs=1e-6), pytest.approx(0.230300, abs=1e-6))
    assert few < many


def test_it_comes_back_into_another_bin_by_the_ledger() -> None:
    piece, job = a_proved(), a_job()
    part = pieces.piece(piece).part
    other = a_bin(part, name="B-02")
    back = swap_tests.bring_back_piece(swap_tests.take_piece(piece, job.id).loan.id, "cannot tell", bin_id=other.id)
    assert back.entry is not None
    assert "C-07 is back in B-02;" in back.sentence
    assert pieces.piece(piece).where.words == "in bin B-02"
    assert verify.verify_ledger().sound


def test_it_does_not_come_back_into_another_parts_bin() -> None:
    piece = a_proved()
    loan = swap_tests.take_piece(piece, a_job().id).loan
    with pytest.raises(Conflict, match="is another part's: choose another bin"):
        swap_tests.bring_back_piece(loan.id, "works with it", bin_id=a_bin(a_part()).id)
    assert loans.loan(loan.id).ended is None
    assert standings.standing_of(piece).matings == 0


def test_when_it_stays_fitted_the_job_bears_its_cost() -> None:
    piece, job = a_proved(received={"cost_minor": 1850}), a_job()
    part = pieces.piece(piece).part
    jobs.set_need(job.id, part.id, 1)
    result = swap_tests.leave_piece_fitted(swap_tests.take_piece(piece, job.id).loan.id)
    assert result.loan.stayed
    assert result.loan.result == "works with it"
    assert result.warnings == (f"That was the last spare of {part.name}: keep another one to test with.",)
    assert pieces.piece(piece).where.words.startswith(f"fitted in job {job.number}")
    assert [loan.id for loan in overview.pieces_of_job(job.id)] == [piece]
    assert jobs.needs(job.id)[0].missing == 0
    stock = stock_totals.stock_of(part.id)
    assert (stock.spares, stock.out) == (0, 0)
    assert result.after.word == "proved"
    assert verify.verify_ledger().sound
    jobs.close_job(job.id)


def test_a_loan_that_has_ended_takes_no_second_result() -> None:
    loan = swap_tests.take_piece(a_proved(), a_job().id).loan
    swap_tests.bring_back_piece(loan.id, "works with it")
    for act in (
        lambda: swap_tests.bring_back_piece(loan.id, "still fails"),
        lambda: swap_tests.leave_piece_fitted(loan.id),
        lambda: swap_tests.cancel_loan(loan.id, reason="oops"),
    ):
        with pytest.raises(Conflict, match=r"has ended already \(works with it\): scan the piece") as refused:
            act()
        assert refused.value.reason == "loan_ended"
    assert standings.standing_of(loan.piece_id).matings == 1


def test_two_results_at_once_leave_one() -> None:
    loan = swap_tests.take_piece(a_proved(), a_job().id).loan
    results = together(
        [
            lambda: swap_tests.bring_back_piece(loan.id, "works with it"),
            lambda: swap_tests.leave_piece_fitted(loan.id),
        ]
    )
    assert sorted(isinstance(result, Conflict) for result in results) == [False, True]
    assert standings.standing_of(loan.piece_id).matings == 1
    assert verify.verify_ledger().sound


@pytest.mark.parametrize("result", ["", "broken", "cancelled", None, 3])
def test_it_refuses_a_result_that_is_none(result: Any) -> None:
    loan = swap_tests.take_piece(a_proved(), a_job().id).loan
    with pytest.raises(Invalid, match="result must be one of: works with it, still fails, cannot tell"):
        swap_tests.bring_back_piece(loan.id, result)


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan"), "0.5", True])
def test_it_refuses_what_is_no_chance(share: Any) -> None:
    loan = swap_tests.take_piece(a_proved(), a_job().id).loan
    with pytest.raises(Invalid):
        swap_tests.bring_back_piece(loan.id, "still fails", others_good=share)
    assert loans.loan(loan.id).ended is None


def test_a_piece_scanned_by_mistake_is_in_its_bin_again_and_nothing_is_held_against_it() -> None:
    piece = a_proved()
    before = standings.standing_of(piece)
    loan = swap_tests.take_piece(piece, a_job().id, note="first try").loan
    with pytest.raises(Invalid, match="The reason is missing"):
        swap_tests.cancel_loan(loan.id, reason="")
    result = swap_tests.cancel_loan(loan.id, reason="wrong label")
    assert (result.result, result.note) == ("cancelled", "first try\nCancelled: wrong label")
    after = standings.standing_of(piece)
    assert (after.matings, after.word) == (before.matings, before.word)
    assert pieces.piece(piece).where.state == "in bin"
    swap_tests.take_piece(piece, a_job().id)


def test_a_result_tapped_wrongly_can_be_taken_back() -> None:
    piece, job = a_piece("C-07"), a_job()
    loan = swap_tests.take_piece(piece.id, job.id).loan
    wrong = swap_tests.bring_back_piece(loan.id, "works with it")
    again = swap_tests.reopen_loan(loan.id, reason="tapped the wrong one")
    assert (again.ended, again.result, again.proof_id) == (None, "", None)
    assert again.note == "Took back 'works with it': tapped the wrong one"
    assert wrong.proof is not None
    assert proofs.proof(wrong.proof.id).struck is not None
    assert standings.standing_of(piece.id).word == "unproved"
    right = swap_tests.bring_back_piece(loan.id, "still fails")
    assert (right.after.word, right.after.matings) == ("doubtful", 1)


def test_taking_back_that_it_stayed_undoes_the_pull() -> None:
    piece, job = a_proved(), a_job()
    part = pieces.piece(piece).part
    jobs.set_need(job.id, part.id, 1)
    loan = swap_tests.take_piece(piece, job.id).loan
    swap_tests.leave_piece_fitted(loan.id)
    swap_tests.reopen_loan(loan.id, reason="it came out again")
    assert pieces.piece(piece).where.state == "out"
    assert jobs.needs(job.id)[0].missing == 1
    back = swap_tests.bring_back_piece(loan.id, "works with it")
    assert back.after.matings == 1
    assert verify.verify_ledger().sound


def test_a_result_is_not_taken_back_when_things_have_moved_on() -> None:
    piece, job = a_proved(), a_job()
    loan = swap_tests.take_piece(piece, job.id).loan
    with pytest.raises(Conflict, match="no result to take back"):
        swap_tests.reopen_loan(loan.id, reason="x")
    swap_tests.bring_back_piece(loan.id, "cannot tell")
    second = swap_tests.take_piece(piece, a_job().id).loan
    with pytest.raises(Conflict, match="is out with job"):
        swap_tests.reopen_loan(loan.id, reason="x")
    swap_tests.bring_back_piece(second.id, "cannot tell")
    adjustments.scrap(piece_id=piece, reason="dropped", job_id=job.id)
    with pytest.raises(Conflict, match="no longer in stock"):
        swap_tests.reopen_loan(loan.id, reason="x")
    jobs.close_job(job.id)
    with pytest.raises(Conflict, match="is closed"):
        swap_tests.reopen_loan(loan.id, reason="x")


def test_a_piece_brought_back_wrongly_goes_home_when_brought_back_again() -> None:
    piece = a_proved()
    home = pieces.piece(piece).where.bin_name
    other = a_bin(pieces.piece(piece).part)
    loan = swap_tests.take_piece(piece, a_job().id).loan
    swap_tests.bring_back_piece(loan.id, "cannot tell", bin_id=other.id)
    swap_tests.reopen_loan(loan.id, reason="not yet back")
    assert f"is back in {home};" in swap_tests.bring_back_piece(loan.id, "cannot tell").sentence


def test_it_lists_what_is_overdue_and_what_a_job_has() -> None:
    late, fine, job = a_proved("C-01"), a_proved("C-02"), a_job()
    with clock.freeze_at(clock.now() - timedelta(hours=50)):
        swap_tests.take_piece(late, job.id)
    swap_tests.take_piece(fine, job.id, hours=24)
    other = swap_tests.take_piece(a_proved("C-03"), a_job().id)
    assert [loan.shown_as for loan in loans.overdue_loans()] == ["C-01"]
    assert [loan.overdue for loan in loans.open_loans(job_id=job.id)] == [True, False]
    assert len(loans.open_loans()) == 3
    swap_tests.bring_back_piece(other.loan.id, "cannot tell")
    assert [loan.id for loan in loans.loans(open_=False).items] == [other.loan.id]
    assert [loan.shown_as for loan in loans.loans(job_id=job.id).items] == ["C-02", "C-01"]
    assert len(loans.loans(piece_id=late).items) == 1


# ---- which spares fit ------------------------------------------------------------------------------------


def names(choice: Any) -> list[str]:
    return [option.seen.piece.name for option in choice.options]


def test_it_ranks_spares_by_what_they_are_worth_and_says_so() -> None:
    fan = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
    first, second = a_proved("C-07", part_id=fan.id), a_proved("C-08", part_id=fan.id)
    a_piece("C-01", part_id=fan.id)
    failed = a_piece("C-02", part_id=fan.id)
    prove_fan(failed.id, Current="0.5")
    job = a_job()
    swap_tests.bring_back_piece(swap_tests.take_piece(second, job.id).loan.id, "cannot tell")  # worn by one mating
    suspect = jobs.add_suspect(job.id, "rear fan", fan.id)
    choice = spares.spares_for(suspect_id=suspect.id)
    assert names(choice) == ["C-07", "C-08", "C-01", "C-02"]
    assert choice.sentence == "Two proved fans fit, C-07 first."
    swap_tests.take_piece(first, job.id)
    choice = spares.spares_for(suspect_id=suspect.id)
    assert names(choice) == ["C-08", "C-01", "C-02", "C-07"]
    assert choice.sentence == "One proved fan fits: C-08."


def test_one_whose_proof_ran_out_comes_before_a_new_one_that_never_ran() -> None:
    fan = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
    with clock.freeze_at(clock.now() - timedelta(days=500)):
        a_proved("old", part_id=fan.id)
    a_piece("new", part_id=fan.id)
    choice = spares.spares_for(part_id=fan.id)
    assert [(option.seen.piece.name, option.seen.standing.word) for option in choice.options] == [
        ("old", "lapsed"),
        ("new", "unproved"),
    ]
    assert choice.options[0].seen.standing.p_good < choice.options[1].seen.standing.p_good
    assert choice.sentence.startswith("No proved spare fits; old is lapsed.")


def test_what_stands_in_comes_after_the_very_part() -> None:
    fan, other = (
        a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES),
        a_part("24 V fan, long wires", "fan", attributes=FAN_ATTRIBUTES),
    )
    parts.set_substitute(fan.id, other.id, "longer wires")
    a_proved("C-07", part_id=fan.id)
    a_proved("L-01", part_id=other.id)  # proved later, so a trace better
    choice = spares.spares_for(part_id=fan.id)
    assert [(option.seen.piece.name, option.how) for option in choice.options] == [
        ("C-07", "the same part"),
        ("L-01", "stands in: longer wires"),
    ]
    assert names(spares.spares_for(part_id=other.id)) == ["L-01"]


def test_without_a_part_it_looks_among_what_fits_the_unit_model() -> None:
    a_proved("C-07", fits=["Corvid 7 moving head"])
    a_piece("M-01", kind="module", part_name="driver board", fits=["Corvid 7 moving head"])
    a_piece("X-01", kind="module", part_name="mixer board", fits=["Tern 12 powered speaker"])
    job = a_job()
    assert names(spares.spares_for(job_id=job.id)) == ["C-07", "M-01"]
    by_name = spares.spares_for(suspect_id=jobs.add_suspect(job.id, "rear fan").id)
    assert [(option.seen.piece.name, option.how) for option in by_name.options] == [
        ("C-07", "fits the Corvid 7 moving head")
    ]
    assert names(spares.spares_for(suspect_id=jobs.add_suspect(job.id, "pan axis").id)) == ["C-07", "M-01"]


def test_it_says_when_none_is_proved_none_is_free_and_none_is_there() -> None:
    fan = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
    assert spares.spares_for(part_id=fan.id).sentence == "No spare fits: order one, or measure instead."
    piece = a_piece("C-07", part_id=fan.id)
    choice = spares.spares_for(part_id=fan.id)
    assert choice.sentence.startswith("No proved spare fits; C-07 is unproved. If the unit still fails with it")
    lots.hold_lot(piece.lot_id, "one dead")
    assert spares.spares_for(part_id=fan.id).sentence.endswith("its lot on hold.")
    lots.release_lot(piece.lot_id)
    job = a_job()
    swap_tests.take_piece(piece.id, job.id)
    assert spares.spares_for(part_id=fan.id).sentence.startswith(
        f"No spare that fits is free; C-07 is out with job {job.number}"
    )
    with pytest.raises(Invalid, match="Say which suspect, part or job"):
        spares.spares_for()
    assert spares.spares_for(job_id=a_job(unit_model="").id).options == ()
