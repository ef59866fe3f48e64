"""Pieces: how far one can be trusted, proving it, taking it for a swap test, bringing it back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.domain.catalogue import bins, lots
from inventory.domain.common import clock
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs, people
from inventory.domain.proof import loans, pieces, proofs, standings
from inventory.domain.proof.loans import SWAP_RESULTS
from inventory.pages.jobs import job_screen
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, send_form, submit_form
from tests.proof_factories import a_piece, built_in_procedure_id, prove_fan

GOOD = {"reading-1": "0.14", "reading-2": "1990", "reading-3": "yes", "reading-4": "yes", "reading-5": "yes"}


def with_job(client: PageClient) -> int:
    """Take a new job in hand; return its id."""
    job = a_job()
    people.set_job_in_hand(client.person.id, job.id)
    return job.id


def proof_page(client: PageClient, piece_id: int) -> str:
    """Return the address of the form for the bench run of a fan."""
    return f"/pieces/{piece_id}/prove?procedure={built_in_procedure_id('Fan bench run')}"


# ---- standing --------------------------------------------------------------------------------------------


def test_it_says_how_far_the_piece_can_be_trusted_and_why(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    prove_fan(piece.id)
    text = page_text(tech_page.get(f"/pieces/{piece.id}"))
    standing_of = standings.standing_of(piece.id)
    assert "C-07 proved" in text
    assert standing_of.why in text
    assert standing_of.worth in text
    assert "passed Fan bench run" in text
    assert "received into" not in text  # it came from loose stock
    assert "singled out" in text


@pytest.mark.parametrize(
    ("make", "word"), [("run", "proved"), ("nothing", "unproved"), ("fail", "failed"), ("long ago", "lapsed")]
)
def test_it_shows_each_word_of_a_standing(tech_page: PageClient, make: str, word: str) -> None:
    moment = clock.now() - timedelta(days=400 if make == "long ago" else 1)
    with clock.freeze_at(moment):
        piece = a_piece("C-07")
        if make != "nothing":
            prove_fan(piece.id, **({"Current": "0.9"} if make == "fail" else {}))
    assert f"C-07 {word}" in page_text(tech_page.get(f"/pieces/{piece.id}"))


# ---- proving ---------------------------------------------------------------------------------------------


def test_it_proves_a_piece_by_readings_with_or_without_their_unit(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    page = tech_page.get(proof_page(tech_page, piece.id))
    assert "At most 0.15 A." in page_text(page)
    assert "From 1800 to 2200 rpm." in page_text(page)
    fields = {**GOOD, "reading-1": "0.14 A", "instrument": "bench meter 2"}
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/prove", **fields))
    assert "C-07 passed Fan bench run." in page_text(result_page)
    proof = proofs.proofs(piece_id=piece.id).items[0]
    assert (proof.passed, proof.instrument, proof.readings[0].value) == (True, "bench meter 2", "0.14")


@pytest.mark.parametrize(
    ("begun", "minutes"), [(None, 7.0), ("yesterday", None), ("1", None), ("9" * 11, None), ("", None), ("-5", None)]
)
def test_a_proof_is_timed_from_opening_its_form_to_keeping_it(
    tech_page: PageClient, begun: str | None, minutes: float | None
) -> None:
    piece = a_piece("C-07")
    page = tech_page.get(proof_page(tech_page, piece.id))
    with clock.freeze_at(clock.now() + timedelta(minutes=7)):
        follow_redirect(
            tech_page, submit_form(tech_page, page, "/prove", **GOOD, **({} if begun is None else {"begun": begun}))
        )
    (record,) = proofs.proofs(piece_id=piece.id).items
    assert record.minutes == (None if minutes is None else pytest.approx(minutes, abs=0.1))


def test_it_says_which_reading_failed(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    page = tech_page.get(proof_page(tech_page, piece.id))
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/prove", **{"reading-1": "0.21"}))
    assert "failed Fan bench run: Current 0.21 A is above 0.15 A" in page_text(result_page)
    assert standings.standing_of(piece.id).word == "failed"


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"reading-1": "fast"}, "'fast' is not a reading"),
        ({"reading-1": "nan"}, "'nan' is not a reading"),
        ({"reading-1": "1e5"}, "is not a reading"),
        ({"reading-1": "0.14 V"}, "This check is in A, not in 'V'"),
        ({"reading-1": "1,234"}, "can be read in two ways"),
        ({"reading-3": "perhaps"}, "Answer yes or no."),
        ({"reading-2": ""}, "Still to read: Speed."),
        ({"reading-1": "9" * 14}, "is not a reading"),
    ],
)
def test_it_refuses_what_is_no_reading_and_keeps_the_rest(
    tech_page: PageClient, fields: dict[str, str], says: str
) -> None:
    piece = a_piece("C-07")
    page = tech_page.get(proof_page(tech_page, piece.id))
    refused = submit_form(tech_page, page, "/prove", **{**GOOD, **fields, "note": "after cleaning"})
    assert refused.status_code == 422
    assert says in page_text(refused)
    data = dict(find_form(refused, "/prove").fields)
    assert data["note"] == "after cleaning"
    assert data["reading-1"] == {**GOOD, **fields}["reading-1"]
    assert not proofs.proofs(piece_id=piece.id).items


def test_it_notes_one_proof_when_the_button_is_tapped_twice(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    form = find_form(tech_page.get(proof_page(tech_page, piece.id)), "/prove")
    for _ in range(2):
        send_form(tech_page, form, **GOOD)
    assert len(proofs.proofs(piece_id=piece.id).items) == 1


def test_it_offers_the_procedures_for_its_kind_and_says_why_one_cannot_be_used(tech_page: PageClient) -> None:
    piece, unrated = a_piece("C-07"), a_piece("C-08", part_name="Fan without a plate", attributes={"volts": 24})
    page = page_text(tech_page.get(f"/pieces/{piece.id}/prove"))
    built_in_procedure_id("Fan bench run")
    page = page_text(tech_page.get(f"/pieces/{piece.id}/prove"))
    assert "By which procedure?" in page
    assert "Fan bench run" in page
    assert "does not state its rated current" in page_text(tech_page.get(proof_page(tech_page, unrated.id)))
    assert "There is no procedure 999" in page_text(tech_page.get(f"/pieces/{piece.id}/prove?procedure=999"))


# ---- swap tests ------------------------------------------------------------------------------------------


def test_it_is_taken_for_the_job_in_hand_in_place_of_a_suspect(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    suspect = job_screen.add_suspect_from_form(job, "rear fan")
    page = tech_page.get(f"/pieces/{piece.id}?suspect={suspect.id}")
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/take"))
    assert "C-07 is out with job" in page_text(result_page)
    assert "in place of rear fan" in page_text(result_page)
    assert [(loan.job_id, loan.suspect_id) for loan in loans.open_loans()] == [(job, suspect.id)]


def test_it_is_taken_for_the_suspect_that_is_the_same_part_when_its_own_label_was_scanned(
    tech_page: PageClient,
) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    job_screen.add_suspect_from_form(job, "head board")
    fan = jobs.add_suspect(job, "rear fan", piece.part_id)
    page = follow_redirect(tech_page, tech_page.get(f"/S/{piece.code}"))
    assert "In place of rear fan : change that" in page_text(page)
    follow_redirect(tech_page, submit_form(tech_page, page, "/take"))
    assert loans.open_loans()[0].suspect_id == fan.id


def test_it_names_a_new_suspect_while_it_is_taken(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    page = tech_page.get(f"/pieces/{piece.id}")
    follow_redirect(tech_page, submit_form(tech_page, page, "/take", suspect_name="front fan"))
    assert [suspect.name for suspect in jobs.suspects(job)] == ["front fan"]
    assert loans.open_loans()[0].suspect == "front fan"


def test_it_lets_a_job_be_chosen_right_there(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), a_job()
    page = tech_page.get(f"/pieces/{piece.id}")
    refused = submit_form(tech_page, page, "/take")
    assert refused.status_code == 422
    assert "Choose the job it is for." in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, "/take", job=job.id))
    assert people.person(tech_page.person.id).job_in_hand_id == job.id
    assert loans.open_loans()[0].job_id == job.id


def test_a_piece_that_is_not_proved_says_what_it_is_worth_before_and_after_it_is_taken(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    with_job(tech_page)
    page = tech_page.get(f"/pieces/{piece.id}")
    assert "It is unproved." in page_text(page)
    assert "If the unit still fails with it, a suspect that was at 50 % falls to" in page_text(page)
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/take"))
    assert "C-07 is unproved" in page_text(result_page)


def test_the_caution_is_read_before_something_on_mains_is_swapped(tech_page: PageClient) -> None:
    piece = a_piece("S-01", kind="supply", part_name="24 V supply")
    with_job(tech_page)
    page = page_text(tech_page.get(f"/pieces/{piece.id}"))
    assert "carry mains voltage, which can kill" in page
    assert page.index("which can kill") < page.index("Take S-01 for job")


def test_it_is_with_one_job_at_a_time(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), a_job()
    with_job(tech_page)
    page = tech_page.get(f"/pieces/{piece.id}")
    swap_tests.take_piece(piece.id, job.id)
    refused = submit_form(tech_page, page, "/take")
    assert refused.status_code == 409
    assert f"Piece C-07 is out with job {job.number}: bring it back first." in page_text(refused)
    assert len(loans.open_loans()) == 1


def test_a_piece_of_a_lot_on_hold_is_taken_only_when_told_to(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    with_job(tech_page)
    page = tech_page.get(f"/pieces/{piece.id}")
    lots.hold_lot(piece.lot_id, "two of five dead")
    refused = submit_form(tech_page, page, "/take")
    assert refused.status_code == 409
    assert "Take it all the same, only to test" in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, "/take"))  # the first form is the one in the band
    assert loans.open_loans()


@pytest.mark.parametrize("result", SWAP_RESULTS)
def test_one_tap_brings_it_back_with_the_result_and_shows_what_that_did(tech_page: PageClient, result: str) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    swap_tests.take_piece(piece.id, job, suspect_id=job_screen.add_suspect_from_form(job, "rear fan").id)
    page = tech_page.get(f"/pieces/{piece.id}")
    assert "How did the swap test go?" in page_text(page)
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/result", result=result))
    assert f": {result}. C-07 is back in" in page_text(result_page)
    assert "What the swap test did to C-07" in page_text(result_page)
    assert not loans.open_loans()
    assert pieces.piece(piece.id).where.state == "in bin"


def test_it_goes_back_into_the_bin_that_was_scanned(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    other = a_bin(name="F-09", mixed=True)
    swap_tests.take_piece(piece.id, job)
    page = tech_page.get(f"/pieces/{piece.id}")
    refused = submit_form(tech_page, page, "/result", result="still fails", bin="nowhere")
    assert refused.status_code == 422
    assert "No bin is called 'nowhere'" in page_text(refused)
    assert loans.open_loans()
    follow_redirect(
        tech_page,
        submit_form(tech_page, refused, "/result", result="still fails", bin=f"HTTPS://X.LAN/S/{other.code}"),
    )
    assert pieces.piece(piece.id).where.bin_name == "F-09"


def test_the_enter_that_a_hand_scanner_types_after_the_bin_picks_no_result(tech_page: PageClient) -> None:
    """A browser's Enter presses the first button of a form, and nothing when that one is disabled."""
    piece, job = a_piece("C-07"), a_job()
    swap_tests.take_piece(piece.id, job.id)
    page = tech_page.get(f"/pieces/{piece.id}").get_data(as_text=True)
    result_form = page[page.index(f'action="/pieces/{piece.id}/result"') :]
    first = result_form[result_form.index("<button") :]
    assert "disabled" in first[: first.index(">")]
    assert "Works with it" in first


def test_it_stays_fitted_and_the_job_pays(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    swap_tests.take_piece(piece.id, job)
    page = tech_page.get(f"/pieces/{piece.id}")
    result_page = follow_redirect(
        tech_page, submit_form(tech_page, page, "/result", result="works with it", where="stays")
    )
    assert "C-07 stays fitted" in page_text(result_page)
    assert pieces.piece(piece.id).where.state == "fitted"
    assert "Piece C-07 , fitted" in page_text(tech_page.get(f"/jobs/{job}"))


def test_a_result_counts_once_when_it_is_tapped_twice_and_never_for_a_loan_that_ended(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    swap_tests.take_piece(piece.id, job)
    page, old_page = (tech_page.get(f"/pieces/{piece.id}") for _ in range(2))
    answers = [submit_form(tech_page, page, "/result", result="still fails") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert pieces.piece(piece.id).standing.matings == 1
    refused = submit_form(tech_page, old_page, "/result", result="works with it")
    assert refused.status_code == 409
    assert "has ended already (still fails)" in page_text(refused)


def test_a_result_that_was_tapped_wrongly_is_taken_back(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    before = swap_tests.take_piece(piece.id, job).standing.p_good
    page = tech_page.get(f"/pieces/{piece.id}")
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/result", result="works with it"))
    second_page = follow_redirect(tech_page, submit_form(tech_page, result_page, "/take-back-result"))
    assert "tap the right result" in page_text(second_page)
    assert loans.open_loans()
    assert standings.standing_of(piece.id).p_good == pytest.approx(before, abs=1e-4)


def test_it_was_never_fitted(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    swap_tests.take_piece(piece.id, job)
    follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/pieces/{piece.id}"), "/never-fitted"))
    assert not loans.open_loans()
    assert pieces.piece(piece.id).standing.matings == 0


def test_a_piece_that_is_no_spare_is_fitted_first_of_all_for_a_job_chosen_right_there(tech_page: PageClient) -> None:
    piece, job = a_piece("M-01", kind="module", part_name="Driver board", spare=False), a_job()
    page = tech_page.get(f"/pieces/{piece.id}")
    assert page_text(page).index("Take it for a job") < page_text(page).index("Only to test: take it for a swap test")
    refused = submit_form(tech_page, page, "/fit")
    assert "Choose the job it is for." in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, "/fit", job=job.id))
    assert pieces.piece(piece.id).where.job_id == job.id
    assert people.person(tech_page.person.id).job_in_hand_id == job.id


def test_it_is_fitted_for_good(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    result_page = follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/pieces/{piece.id}"), "/fit"))
    assert "Undo" in page_text(result_page)
    assert pieces.piece(piece.id).where.job_id == job


# ---- doors and bad input ---------------------------------------------------------------------------------


def test_it_keeps_an_edit_and_refuses_a_name_that_another_piece_has(tech_page: PageClient) -> None:
    a_piece("C-01")
    piece = a_piece("C-07")
    page = tech_page.get(f"/pieces/{piece.id}")
    refused = submit_form(tech_page, page, "/edit", name="C-01")
    assert "There is a piece C-01 already" in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, "/edit", name="C-09", serial="77"))
    assert (pieces.piece(piece.id).piece.name, pieces.piece(piece.id).piece.serial) == ("C-09", "77")


def test_a_viewer_may_look_and_change_nothing(viewer_page: PageClient) -> None:
    piece = a_piece("C-07")
    page = viewer_page.get(f"/pieces/{piece.id}")
    assert page.status_code == 200
    assert not [form for form in page_forms(page) if form.method == "post"]
    assert viewer_page.get(f"/pieces/{piece.id}/prove").status_code == 403
    for path in ("take", "result", "never-fitted", "take-back-result", "fit", "edit", "prove"):
        assert viewer_page.post_form(f"/pieces/{piece.id}/{path}").status_code == 403
    assert bins.stocked_pieces(part_id=piece.part_id)[0].version == 1


def test_it_refuses_forms_that_are_not_ours(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), a_job()
    assert tech_page.post(f"/pieces/{piece.id}/take", data={"job": job.id}).status_code == 403
    assert not loans.open_loans()


def test_it_knows_no_such_piece_and_no_such_method(tech_page: PageClient) -> None:
    assert tech_page.get("/pieces/999").status_code == 404
    assert tech_page.get("/pieces/999/prove").status_code == 404
    assert tech_page.post_form("/pieces/999/take", job=a_job().id).status_code == 404
    assert tech_page.get(f"/pieces/{a_piece().id}/take").status_code == 405


@pytest.mark.parametrize("fields", [{"loan": "999", "result": "still fails"}, {"loan": "x", "result": "still fails"}])
def test_it_ends_no_loan_that_is_not_there(tech_page: PageClient, fields: dict[str, str]) -> None:
    piece = a_piece("C-07")
    assert tech_page.post_form(f"/pieces/{piece.id}/result", **fields).status_code in (404, 422)


def test_it_ends_no_loan_of_another_piece(tech_page: PageClient) -> None:
    piece, other, job = a_piece("C-07"), a_piece("C-08"), with_job(tech_page)
    loan = swap_tests.take_piece(other.id, job).loan
    for path in ("result", "never-fitted", "take-back-result"):
        refused = tech_page.post_form(f"/pieces/{piece.id}/{path}", loan=loan.id, result="still fails")
        assert refused.status_code == 409
        assert "That swap test is another piece's" in page_text(refused)
    assert [loan.id for loan in loans.open_loans()] == [loan.id]


@pytest.mark.parametrize("result", ["", "perhaps"])
def test_it_ends_a_loan_with_a_known_result_only(tech_page: PageClient, result: str) -> None:
    piece, job = a_piece("C-07"), with_job(tech_page)
    swap_tests.take_piece(piece.id, job)
    refused = submit_form(tech_page, tech_page.get(f"/pieces/{piece.id}"), "/result", result=result)
    assert refused.status_code == 422
    assert loans.open_loans()


def test_html_in_any_field_comes_out_as_text(tech_page: PageClient) -> None:
    evil = "<script>alert(1)</script>"
    part = a_part(evil, "fan", caution=evil)
    bin_ = a_bin(part, name=evil)
    piece = a_piece(evil, part_id=part.id, bin_id=bin_.id)
    job = a_job(symptom=evil)
    people.set_job_in_hand(tech_page.person.id, job.id)
    page = tech_page.get(f"/pieces/{piece.id}")
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/take", suspect_name=evil))
    assert "<script>alert(1)" not in page.get_data(as_text=True)
    assert page_text(page).count(evil) >= 4
