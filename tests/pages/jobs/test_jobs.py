"""Jobs: the list, opening one, taking it in hand, and all that is done at its page."""

from __future__ import annotations

from datetime import date

import pytest

from inventory.domain.catalogue import bins, parts
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs, people
from inventory.domain.movements import overview, pull
from inventory.domain.proof import spares
from inventory.pages.jobs import job_screen
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, send_form, submit_form
from tests.proof_factories import a_piece, prove_fan


def in_hand(client: PageClient) -> int | None:
    """Return the job that the person of a browser has in hand."""
    return people.person(client.person.id).job_in_hand_id


# ---- the list --------------------------------------------------------------------------------------------


def test_it_lists_open_jobs_before_waiting_ones_before_closed_ones(tech_page: PageClient) -> None:
    closed, waiting, open_ = a_job(), a_job(), a_job()
    jobs.close_job(closed.id)
    jobs.mark_waiting(waiting.id, "a header in the post")
    text = page_text(tech_page.get("/jobs"))
    places = [text.index(f"Job {job.number}") for job in (open_, waiting, closed)]
    assert places == sorted(places)
    assert "waits for a header in the post" in text


def test_it_finds_jobs_and_narrows_them_by_status(tech_page: PageClient) -> None:
    first, second = a_job(customer="Aldwych Theatre"), a_job(customer="Radio Quay")
    jobs.close_job(second.id)
    text = page_text(tech_page.get("/jobs?find=aldwych"))
    assert f"Job {first.number}" in text
    assert f"Job {second.number}" not in text
    closed = page_text(tech_page.get("/jobs?status=closed"))
    assert f"Job {second.number}" in closed
    assert f"Job {first.number}" not in closed
    assert "No job has “zzz”" in page_text(tech_page.get("/jobs?find=zzz"))


def test_it_says_so_when_there_are_no_jobs(tech_page: PageClient) -> None:
    assert "No jobs here" in page_text(tech_page.get("/jobs"))


def test_it_lists_older_closed_jobs_page_by_page(tech_page: PageClient) -> None:
    numbers = [a_job(symptom=f"fault {number}") for number in range(27)]
    for value in numbers:
        jobs.close_job(value.id)
    first = tech_page.get("/jobs")
    assert "Older jobs" in page_text(first)
    assert f"Job {numbers[0].number} " not in page_text(first)


@pytest.mark.parametrize("query", ["status=lost", "after=nonsense!", "status=closed&after=%00"])
def test_it_refuses_a_list_that_cannot_be(tech_page: PageClient, query: str) -> None:
    assert tech_page.get(f"/jobs?{query}").status_code == 422


# ---- opening ---------------------------------------------------------------------------------------------


def test_it_opens_a_job_and_takes_it_in_hand(tech_page: PageClient) -> None:
    page = tech_page.get("/jobs/new")
    fields = {"unit_model": "Corvid 7 moving head", "symptom": "no pan", "promised": "2026-12-03"}
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/jobs", "new", **fields))
    job = jobs.jobs().items[0]
    assert (job.unit_model, job.symptom, job.promised) == ("Corvid 7 moving head", "no pan", date(2026, 12, 3))
    assert in_hand(tech_page) == job.id
    assert f"Job {job.number} is open." in page_text(result_page)


def test_it_opens_one_job_when_the_button_is_tapped_twice(tech_page: PageClient) -> None:
    new = find_form(tech_page.get("/jobs/new"), "/jobs", "new")
    for _ in range(2):
        send_form(tech_page, new, symptom="no pan")
    assert len(jobs.jobs().items) == 1


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"symptom": ""}, "Say what the unit does wrong, in a few words."),
        ({"symptom": "no pan", "promised": "soon"}, "Type a day as year-month-day"),
        ({"symptom": "x" * 301}, "The symptom is 301 characters long: shorten it to 300."),
        ({"symptom": "no pan", "number": "1001"}, "There is a job 1001 already: choose another number."),
    ],
)
def test_it_refuses_a_job_that_cannot_be_and_keeps_what_was_typed(
    tech_page: PageClient, fields: dict[str, str], says: str
) -> None:
    a_job(number="1001")
    refused = submit_form(tech_page, tech_page.get("/jobs/new"), "/jobs", "new", customer="Radio Quay", **fields)
    assert refused.status_code in (409, 422)
    assert says in page_text(refused)
    data = dict(find_form(refused, "/jobs", "new").fields)
    assert data["customer"] == "Radio Quay"
    assert data["symptom"] == fields["symptom"]
    assert len(jobs.jobs().items) == 1
    assert in_hand(tech_page) is None


def test_a_viewer_opens_no_job(viewer_page: PageClient) -> None:
    assert viewer_page.get("/jobs/new").status_code == 403
    assert viewer_page.post_form("/jobs", symptom="no pan").status_code == 403
    assert not jobs.jobs().items


# ---- in hand, waiting, closed ----------------------------------------------------------------------------


def test_it_is_taken_in_hand_from_the_list_and_put_down_on_its_page(tech_page: PageClient) -> None:
    job = a_job()
    page = follow_redirect(tech_page, submit_form(tech_page, tech_page.get("/jobs"), "/in-hand"))
    assert in_hand(tech_page) == job.id
    assert "in hand: scans take for this job" in page_text(page)
    follow_redirect(tech_page, submit_form(tech_page, page, "/put-down"))
    assert in_hand(tech_page) is None


def test_it_waits_and_goes_on(tech_page: PageClient) -> None:
    job = a_job()
    page = tech_page.get(f"/jobs/{job.id}")
    refused = submit_form(tech_page, page, "/wait", what="")
    assert "Say what it waits for" in page_text(refused)
    page = follow_redirect(tech_page, submit_form(tech_page, refused, "/wait", what="a header"))
    assert jobs.job(job.id).status == "waiting"
    follow_redirect(tech_page, submit_form(tech_page, page, "/reopen"))
    assert jobs.job(job.id).status == "open"


def test_it_closes_with_what_it_was_and_can_be_reopened(tech_page: PageClient) -> None:
    job = a_job()
    fan, line = (
        job_screen.add_suspect_from_form(job.id, "rear fan"),
        job_screen.add_suspect_from_form(job.id, "tach line"),
    )
    page = tech_page.get(f"/jobs/{job.id}")
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/close", was=[line.id], found="broken tach line"))
    assert (jobs.job(job.id).status, jobs.job(job.id).found) == ("closed", "broken tach line")
    assert [suspect.verdict for suspect in jobs.suspects(job.id)] == ["good", "bad"]  # what it was not is cleared
    assert fan.name in page_text(page)
    follow_redirect(tech_page, submit_form(tech_page, page, "/reopen"))
    assert jobs.job(job.id).status == "open"


def test_it_stays_open_while_a_piece_is_out(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), a_job()
    swap_tests.take_piece(piece.id, job.id)
    suspect = job_screen.add_suspect_from_form(job.id, "rear fan")
    refused = submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/close", was=[suspect.id], found="the fan")
    assert refused.status_code == 409
    assert "lent to this job" in page_text(refused)
    assert jobs.job(job.id).status == "open"
    assert jobs.suspects(job.id)[0].verdict == ""  # nothing half-written
    assert dict(find_form(refused, "/close").fields)["found"] == "the fan"


def test_a_closed_job_is_not_taken_in_hand(tech_page: PageClient) -> None:
    job = a_job()
    page = tech_page.get(f"/jobs/{job.id}")
    jobs.close_job(job.id)
    refused = submit_form(tech_page, page, "/in-hand")
    assert refused.status_code == 409
    assert "That job is closed" in page_text(refused)


# ---- what it used and needs ------------------------------------------------------------------------------


def test_it_shows_what_it_used_with_its_cost_and_puts_it_back_in_one_tap(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(10, cost_minor=420)
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    page = tech_page.get(f"/jobs/{job.id}")
    assert "0.84 EUR" in page_text(page)
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/put-back"))
    assert f"2 pieces of {part.name} put back into {bin_.name}" in page_text(result_page)
    assert stock_of(part.id).on_shelf == 10


def test_it_puts_back_no_more_than_it_took(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(10)
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    refused = submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/put-back", amount="3")
    assert refused.status_code == 409
    assert "has only 2 of that" in page_text(refused)
    assert stock_of(part.id).on_shelf == 8


def test_it_puts_back_a_fitted_piece(tech_page: PageClient) -> None:
    piece, job = a_piece("C-07"), a_job()
    pull.pull_piece(piece.id, job_id=job.id)
    follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/put-back", f"back-piece-{piece.id}")
    )
    assert bins.stocked_pieces(part_id=piece.part_id)[0].bin_id == piece.bin_id
    assert not overview.job_overview(job.id).pieces


def test_it_notes_needs_with_what_is_missing_and_where_it_is(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(1)
    job = a_job()
    page = tech_page.get(f"/jobs/{job.id}")
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/needs", part=part.number, amount="3"))
    assert "0 pieces taken of 3 pieces; 1 piece on the shelf" in page_text(page)
    assert "short 2 pieces" in page_text(page)
    assert f"Take from bin {bin_.name}" in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/drop"))
    assert "no longer wanted" in page_text(page)
    assert jobs.needs(job.id)[0].dropped


def test_a_need_that_is_kept_piece_by_piece_leads_to_the_bin_of_one_that_may_be_fitted(tech_page: PageClient) -> None:
    spare, other = a_piece("C-01"), a_bin(name="M-5", mixed=True)
    job = a_job()
    jobs.set_need(job.id, spare.part_id, 1)
    assert "Take from bin" not in page_text(
        tech_page.get(f"/jobs/{job.id}")
    )  # one kept to test with is not for fitting
    a_piece("M-01", part_id=spare.part_id, bin_id=other.id, spare=False)
    assert "Take from bin M-5" in page_text(tech_page.get(f"/jobs/{job.id}"))


def test_it_asks_which_of_several_parts_is_needed(tech_page: PageClient) -> None:
    a_part("Header 4-way")
    part = a_part("Header 6-way")
    job = a_job()
    refused = submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/needs", part="header", amount="2")
    assert refused.status_code == 422
    assert "Which of these?" in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, "/needs", part=part.number))
    assert [(need.part.id, need.quantity) for need in jobs.needs(job.id)] == [(part.id, 2)]


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"part": "", "amount": "1"}, "Say which part"),
        ({"part": "zzz", "amount": "1"}, "No part has 'zzz'"),
        ({"part": "Header", "amount": "0"}, "0 is too few"),
        ({"part": "Header", "amount": "two"}, "Type a whole number, such as 1."),
        ({"part": "Header", "amount": "9" * 30}, "too many to be right"),
    ],
)
def test_it_refuses_a_need_that_cannot_be(tech_page: PageClient, fields: dict[str, str], says: str) -> None:
    a_part("Header 4-way")
    job = a_job()
    refused = submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/needs", **fields)
    assert refused.status_code == 422
    assert says in page_text(refused)
    assert not jobs.needs(job.id)


# ---- suspects and lessons --------------------------------------------------------------------------------


def test_a_suspect_shows_which_proved_spare_fits_first_and_leads_to_it(tech_page: PageClient) -> None:
    fan = a_part("24 V fan", "fan", attributes={"volts": 24, "amps": 0.15, "rpm": 2000})
    a_bin(fan)
    first, second = a_piece("C-07", part_id=fan.id), a_piece("C-08", part_id=fan.id)
    prove_fan(first.id)
    prove_fan(second.id)
    job = a_job()
    page = tech_page.get(f"/jobs/{job.id}")
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/suspects", name="rear fan", part=fan.number))
    suspect = jobs.suspects(job.id)[0]
    best = spares.spares_for(suspect_id=suspect.id).options[0].seen.piece
    assert f"Two proved fans fit, {best.name} first." in page_text(page)
    for piece in (first, second):
        assert f'href="/pieces/{piece.id}?suspect={suspect.id}"' in page.get_data(as_text=True)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/verdict", verdict="good"))
    assert "it was not this" in page_text(page)


def test_it_judges_only_its_own_suspects(tech_page: PageClient) -> None:
    job, other = a_job(), a_job()
    suspect = job_screen.add_suspect_from_form(other.id, "rear fan")
    refused = tech_page.post_form(f"/jobs/{job.id}/suspects/{suspect.id}/verdict", verdict="bad")
    assert refused.status_code == 409
    assert jobs.suspects(other.id)[0].verdict == ""
    assert tech_page.post_form(f"/jobs/{job.id}/suspects/999/verdict", verdict="bad").status_code == 404


def test_it_keeps_a_lesson_about_the_unit_model_and_shows_it_on_the_next_job(tech_page: PageClient) -> None:
    job = a_job()
    text = "Fan error is often the tach line."
    follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/lessons", text=text))
    assert text in page_text(tech_page.get(f"/jobs/{a_job().id}"))


# ---- doors and bad input ---------------------------------------------------------------------------------


def test_it_keeps_an_edit_and_refuses_one_of_an_old_page(tech_page: PageClient) -> None:
    job = a_job()
    page, old_page = (tech_page.get(f"/jobs/{job.id}") for _ in range(2))
    follow_redirect(tech_page, submit_form(tech_page, page, "/edit", customer="Radio Quay"))
    assert jobs.job(job.id).customer == "Radio Quay"
    assert submit_form(tech_page, old_page, "/edit", customer="Somebody else").status_code == 412
    assert jobs.job(job.id).customer == "Radio Quay"


def test_a_viewer_may_look_and_change_nothing(viewer_page: PageClient) -> None:
    job = a_job()
    page = viewer_page.get(f"/jobs/{job.id}")
    assert page.status_code == 200
    posts = [form.action for form in page_forms(page) if form.method == "post"]
    assert posts == []
    for path in ("in-hand", "wait", "close", "reopen", "edit", "needs", "suspects", "lessons", "put-back"):
        assert viewer_page.post_form(f"/jobs/{job.id}/{path}").status_code == 403
    assert jobs.job(job.id).version == 1


def test_it_refuses_forms_that_are_not_ours(tech_page: PageClient) -> None:
    job = a_job()
    assert tech_page.post(f"/jobs/{job.id}/close", data={"found": "x"}).status_code == 403
    assert jobs.job(job.id).status == "open"


def test_it_knows_no_such_job_and_no_such_method(tech_page: PageClient) -> None:
    assert tech_page.get("/jobs/999").status_code == 404
    assert tech_page.post_form("/jobs/999/wait", what="x").status_code == 404
    assert tech_page.get(f"/jobs/{a_job().id}/close").status_code == 405


def test_html_in_any_field_comes_out_as_text(tech_page: PageClient) -> None:
    evil = "<script>alert(1)</script>'; DROP TABLE jobs; --"
    page = tech_page.get("/jobs/new")
    texts = dict.fromkeys(("unit_model", "symptom", "customer", "unit_serial", "note"), evil)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/jobs", "new", **texts))
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/suspects", name=evil))
    page = tech_page.get(page.request.path)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/lessons", text=evil))
    assert "<script>alert(1)" not in page.get_data(as_text=True)
    assert page_text(page).count(evil) >= 6
    assert parts.unit_models()[0].name == evil
