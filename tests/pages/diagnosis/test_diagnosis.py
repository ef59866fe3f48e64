"""What might be wrong in a job, on its page: chances, the log of what was seen, what next, closing, left-overs."""

from __future__ import annotations

import re

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.common import shop
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import diagnose, evidence, job_closing, swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.domain.proof import loans, pieces, standings
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, send_form, submit_form
from tests.proof_factories import FAN_ATTRIBUTES, a_piece, prove_fan


def a_suspected_job(*names: str) -> tuple[JobRecord, dict[str, int]]:
    job = a_job()
    return job, {name: jobs.add_suspect(job.id, name).id for name in names or ("fan", "harness")}


def a_proved_fan(job_id: int, suspect: str = "rear fan") -> tuple[int, int]:
    """Name a suspect with a proved spare; return the ids of both."""
    piece = a_piece("C-07", attributes=FAN_ATTRIBUTES)
    prove_fan(piece.id)
    return jobs.add_suspect(job_id, suspect, piece.part_id).id, piece.id


# ---- chances ---------------------------------------------------------------------------------------------


def test_it_asks_for_a_suspect_first(tech_page: PageClient) -> None:
    page = tech_page.get(f"/jobs/{a_job().id}")
    assert "No suspect is named on job" in page_text(page)
    assert not [form for form in page_forms(page) if form.action.endswith("/evidence")]


def test_it_shows_how_likely_each_is_and_where_that_comes_from(tech_page: PageClient) -> None:
    job, _ = a_suspected_job()
    text = page_text(tech_page.get(f"/jobs/{job.id}"))
    chance = diagnose.diagnose_job(job.id).suspects[0].p_bad
    assert "Nothing stands out: fan and harness are as likely as each other" in text
    assert f"{chance * 100:.1f} %" in text
    assert "all suspects start equal, with 10 % for something not on the list (assumed)" in text


def test_one_tap_logs_what_was_seen_and_the_chances_move(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    page = tech_page.get(f"/jobs/{job.id}")
    page = follow_redirect(
        tech_page, submit_form(tech_page, page, "/evidence", suspect=ids["fan"], seen="measured bad", note="rubs")
    )
    text = page_text(page)
    assert "fan measured: bad. Most likely fan alone: " in text
    assert "where it stood before the last thing seen" in text
    (observations,) = evidence.observations(job.id)
    assert (observations.suspect, observations.note, observations.person) == (
        "fan",
        "rubs",
        tech_page.person.shown_as,
    )


@pytest.mark.parametrize(
    ("tap", "kind", "works"),
    [
        ("measured good", "measured", None), ("mended works", "repaired", True), ("mended fails", "repaired", False),
        ("mended", "repaired", None), ("new works", "new part", True), ("new fails", "new part", False),
        ("new", "new part", None), ("back works", "put back", True), ("back fails", "put back", False),
    ],
)  # fmt: skip
def test_every_button_of_the_log_is_kept_as_what_it_says(
    tech_page: PageClient, tap: str, kind: str, works: bool | None
) -> None:
    job, ids = a_suspected_job()
    page = tech_page.get(f"/jobs/{job.id}")
    assert f'value="{tap}"' in page.text
    follow_redirect(tech_page, submit_form(tech_page, page, "/evidence", suspect=ids["harness"], seen=tap))
    (observations,) = evidence.observations(job.id)
    assert (observations.kind, observations.works, observations.suspect) == (kind, works, "harness")


def test_a_measurement_can_say_how_sure_it_is(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    page = tech_page.get(f"/jobs/{job.id}")
    fields = {"suspect": ids["fan"], "seen": "measured good", "finds": "70", "passes": "99 %"}
    follow_redirect(tech_page, submit_form(tech_page, page, "/evidence", **fields))
    (observations,) = evidence.observations(job.id)
    assert (observations.sensitivity, observations.specificity) == (0.7, 0.99)
    bad = submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/evidence", **{**fields, "finds": "often"})
    assert (bad.status_code, "Type a percentage from 0 to 100" in page_text(bad)) == (422, True)
    assert len(evidence.observations(job.id)) == 1


def test_the_same_form_sent_twice_logs_once(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    form = find_form(tech_page.get(f"/jobs/{job.id}"), "/evidence")
    for _ in range(2):
        send_form(tech_page, form, suspect=ids["fan"], seen="measured bad")
    assert len(evidence.observations(job.id)) == 1


def test_a_slip_is_struck_out_with_a_reason(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    record_observation = evidence.record_observation(
        job.id, "measured", suspect_id=ids["fan"], says_bad=True
    ).evidence
    page = tech_page.get(f"/jobs/{job.id}")
    refused = submit_form(tech_page, page, f"/evidence/{record_observation.id}/strike", reason=" ")
    assert (refused.status_code, "Say why it was wrong." in page_text(refused)) == (422, True)
    page = follow_redirect(
        tech_page, submit_form(tech_page, page, f"/evidence/{record_observation.id}/strike", reason="other unit")
    )
    assert "Struck out: fan measured: bad." in page_text(page)
    assert "struck out: other unit" in page_text(page)
    assert evidence.observation(record_observation.id).struck_reason == "other unit"


def test_it_names_observations_that_contradict_each_other(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    page = tech_page.get(f"/jobs/{job.id}")
    sure = {"suspect": ids["fan"], "finds": "100", "passes": "100"}
    follow_redirect(tech_page, submit_form(tech_page, page, "/evidence", **sure, seen="measured bad"))
    refused = submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/evidence", **sure, seen="measured good")
    assert refused.status_code == 409
    assert (
        "These observations contradict each other: fan measured: bad; fan measured: good. Strike out the one"
        in page_text(refused)
    )


def test_the_unit_is_run_with_two_pieces_at_once(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    assert not [form for form in page_forms(tech_page.get(f"/jobs/{job.id}")) if form.action.endswith("/runs")]
    loans = [
        swap_tests.take_piece(a_piece(name, part_name=name).id, job.id, suspect_id=ids[suspect]).loan.id
        for name, suspect in (("C-07", "fan"), ("C-03", "harness"))
    ]
    page = tech_page.get(f"/jobs/{job.id}")
    refused = submit_form(tech_page, page, "/runs", works="yes")
    assert (refused.status_code, "Say which pieces were in the unit" in page_text(refused)) == (422, True)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/runs", loans=loans, works="yes"))
    assert "Run with C-07 for fan and C-03 for harness; the unit works." in page_text(page)
    assert evidence.observations(job.id)[0].loan_ids == tuple(loans)


@pytest.mark.parametrize("sent", [{}, {"seen": "shaken"}, {"seen": "measured bad", "suspect": "x"}])
def test_it_refuses_a_form_that_is_not_ours(tech_page: PageClient, sent: dict[str, str]) -> None:
    job, ids = a_suspected_job()
    assert tech_page.post_form(f"/jobs/{job.id}/evidence", **{"suspect": ids["fan"], **sent}).status_code == 422
    assert evidence.observations(job.id) == []


def test_html_in_a_name_or_note_comes_out_as_text(tech_page: PageClient) -> None:
    job, ids = a_suspected_job("<b>fan</b>", "harness")
    evidence.record_observation(job.id, "measured", suspect_id=ids["<b>fan</b>"], says_bad=True, note="<i>rubs</i>")
    page = tech_page.get(f"/jobs/{job.id}").text
    assert "&lt;b&gt;fan&lt;/b&gt;" in page
    assert "<b>fan</b>" not in page


def test_a_viewer_sees_the_chances_and_logs_nothing(viewer_page: PageClient) -> None:
    job, ids = a_suspected_job()
    page = viewer_page.get(f"/jobs/{job.id}")
    assert "What might be wrong" in page_text(page)
    assert not [form for form in page_forms(page) if "/evidence" in form.action]
    for address in ("evidence", "runs", "kept-spares", "evidence/1/strike"):
        fields = {"suspect": ids["fan"], "seen": "measured bad", "works": "yes", "reason": "x"}
        assert viewer_page.post_form(f"/jobs/{job.id}/{address}", **fields).status_code == 403


@pytest.mark.parametrize("address", ["evidence", "runs", "kept-spares", "evidence/1/strike"])
def test_it_knows_no_such_job_and_no_such_method(tech_page: PageClient, address: str) -> None:
    fields = {"suspect": 1, "seen": "measured bad", "works": "yes", "loans": 1, "reason": "x", "lot": 1}
    assert tech_page.post_form(f"/jobs/999/{address}", **fields).status_code == 404
    assert tech_page.get(f"/jobs/{a_job().id}/{address}").status_code == 405


# ---- what next -------------------------------------------------------------------------------------------


def test_it_says_what_to_do_next_with_what_each_step_costs(tech_page: PageClient) -> None:
    job, _ = a_suspected_job("harness")
    suspect, piece = a_proved_fan(job.id)
    page = tech_page.get(f"/jobs/{job.id}")
    assert f'href="/pieces/{piece}?suspect={suspect}"' in page.text
    text = page_text(page)
    assert "Swap in C-07 for the rear fan, from bin" in text
    assert "Mend the harness" in text
    assert "Hand it back unmended" in text
    assert "What a minute at the bench costs: 0.80 EUR (assumed)" in text


def test_nothing_more_is_advised_once_the_unit_works(tech_page: PageClient) -> None:
    job, _ = a_suspected_job("harness")
    suspect, piece = a_proved_fan(job.id)
    swap_tests.leave_piece_fitted(swap_tests.take_piece(piece, job.id, suspect_id=suspect).loan.id)
    assert "Nothing more to do: what is fitted now is most likely all good" in page_text(
        tech_page.get(f"/jobs/{job.id}")
    )


def test_suspects_of_earlier_jobs_are_added_in_one_tap(tech_page: PageClient) -> None:
    past, ids = a_suspected_job("tach sensor")
    job_closing.close_with_causes(past.id, was=[ids["tach sensor"]])
    job = a_job()
    page = tech_page.get(f"/jobs/{job.id}")
    assert "at fault once with this symptom" in page_text(page)
    follow_redirect(tech_page, submit_form(tech_page, page, "/suspects", "suggested"))
    assert [suspect.name for suspect in jobs.suspects(job.id)] == ["tach sensor"]


# ---- the swap test, and closing --------------------------------------------------------------------------


def test_bringing_a_piece_back_shows_how_the_chances_of_the_job_moved(tech_page: PageClient) -> None:
    job, _ = a_suspected_job("harness")
    suspect, piece = a_proved_fan(job.id)
    before = diagnose.diagnose_job(job.id).suspects[0].p_bad
    swap_tests.take_piece(piece, job.id, suspect_id=suspect)
    page = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/pieces/{piece}"), "/result", result="works with it")
    )
    text = page_text(page)
    assert f"Job {job.number}: how likely each is bad" in text
    after = next(suspect.p_bad for suspect in diagnose.diagnose_job(job.id).suspects if suspect.name == "rear fan")
    assert f"rear fan {before * 100:.1f} % {after * 100:.1f} %" in text


def test_closing_asks_what_it_was_and_tells_what_that_says_of_the_spares(tech_page: PageClient) -> None:
    job, ids = a_suspected_job("harness")
    suspect, piece = a_proved_fan(job.id)
    swap_tests.bring_back_piece(swap_tests.take_piece(piece, job.id, suspect_id=suspect).loan.id, "still fails")
    assert standings.standing_of(piece).word == "doubtful"
    page = tech_page.get(f"/jobs/{job.id}")
    page = follow_redirect(
        tech_page, submit_form(tech_page, page, "/close", was=[ids["harness"]], found="Tach wire broken.")
    )
    assert "By all that this job saw, C-07 is " in page_text(page)
    assert standings.standing_of(piece).word == "proved"
    assert [suspect.verdict for suspect in jobs.suspects(job.id)] == ["bad", "good"]


def test_it_can_have_been_something_not_on_the_list(tech_page: PageClient) -> None:
    job, _ = a_suspected_job()
    follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), "/close", something_else="1"))
    closing = job_closing.closing(job.id)
    assert (closing.something_else, closing.was, closing.person) == (True, (), tech_page.person.shown_as)


def test_a_part_bought_in_vain_becomes_a_spare_with_its_run_as_its_proof(tech_page: PageClient) -> None:
    part = a_part("24 V fan", "fan")
    receive.receive(part.id, 1, a_bin(part).id)
    job, ids = a_suspected_job("harness")
    fan = jobs.add_suspect(job.id, "fan", part.id)
    pull.pull(1, part_id=part.id, job_id=job.id)
    evidence.record_observation(job.id, "new part", suspect_id=fan.id, works=True)
    job_closing.close_with_causes(job.id, was=[ids["harness"]])
    page = tech_page.get(f"/jobs/{job.id}")
    assert "24 V fan: it was not the fan. The job took it; the unit worked with it, which is its proof." in page_text(
        page
    )
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/kept-spares", name="C-07"))
    assert "C-07 is a spare in" in page_text(page)
    assert "Its run in the unit is its proof; print its label." in page_text(page)
    (record,) = pieces.pieces(part_id=part.id).items
    assert (record.piece.name, record.standing.word) == ("C-07", "proved")
    assert not [form for form in page_forms(tech_page.get(f"/jobs/{job.id}")) if form.action.endswith("/kept-spares")]


# ---- which spares to keep --------------------------------------------------------------------------------


def test_it_ranks_the_spares_worth_keeping(tech_page: PageClient) -> None:
    assert "Nothing to say yet" in page_text(tech_page.get("/keep-list"))
    part = a_part("24 V fan", "fan")
    suppliers.add_offer(part.id, suppliers.add_supplier("Northgate", lead_days=4).id, 1800)
    for _ in range(4):
        job = a_job()
        job_closing.close_with_causes(job.id, was=[jobs.add_suspect(job.id, "fan", part.id).id])
    jobs.add_suspect(a_job().id, "display", a_part("Odd display", "module").id)
    text = page_text(tech_page.get("/keep-list"))
    assert "Worth keeping 24 V fan" in text
    assert "none kept" in text
    assert "No price known" in text
    assert "Odd display" in text
    assert "Chance that a proved spare is good, where none is kept yet: 0.98 (assumed)" in text
    assert 'href="/keep-list"' in tech_page.get("/more").text


def test_the_list_of_spares_takes_no_other_method(tech_page: PageClient) -> None:
    assert tech_page.post_form("/keep-list").status_code == 405


# ---- one tap from what comes next ------------------------------------------------------------------------


def lead(page: object) -> str:
    """Return what the page says to do next."""
    return page_text(page).split("What next ")[1]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("minutes", "first", "tap", "kind"),
    [(25, "Mend the ", "mended works", "repaired"), (200, "Measure the ", "measured good", "measured")],
)
def test_the_best_step_is_logged_in_one_tap_where_it_is_advised(
    tech_page: PageClient, minutes: int, first: str, tap: str, kind: str
) -> None:
    job, ids = a_suspected_job()
    shop.edit_shop(minutes_repair=minutes)
    page = tech_page.get(f"/jobs/{job.id}")
    assert lead(page).startswith(first)
    forms = [form for form in page_forms(page) if form.action.endswith("/evidence")][-1]
    about = int(dict(forms.fields)["suspect"])
    follow_redirect(tech_page, send_form(tech_page, forms, seen=tap))
    (observations,) = evidence.observations(job.id)
    assert (observations.suspect_id, observations.kind, about in ids.values()) == (about, kind, True)


def test_while_a_piece_is_out_it_leads_to_its_result(tech_page: PageClient) -> None:
    job, _ = a_suspected_job("harness")
    suspect, piece = a_proved_fan(job.id)
    loan = swap_tests.take_piece(piece, job.id, suspect_id=suspect).loan.id
    page = tech_page.get(f"/jobs/{job.id}")
    assert lead(page).startswith("Run the unit with C-07 in place of the rear fan, and tap what it does: ")
    assert f'href="#out-{loan}"' in page.text
    assert f'id="out-{loan}"' in page.text


def test_a_spare_that_worked_stays_in_one_tap_from_the_job_or_from_its_own_page(tech_page: PageClient) -> None:
    job, _ = a_suspected_job("harness")
    suspect, piece = a_proved_fan(job.id)
    loan = swap_tests.take_piece(piece, job.id, suspect_id=suspect).loan.id
    page = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/pieces/{piece}"), "/result", result="works with it")
    )
    assert "C-07 stays in the unit" in page_text(page)
    page = tech_page.get(f"/jobs/{job.id}")
    assert lead(page).startswith("The unit worked with C-07, so the old rear fan is bad with a chance of ")
    form = find_form(page, f"/pieces/{piece}/stays")
    result_page = follow_redirect(tech_page, send_form(tech_page, form))
    assert "C-07 stays fitted; it is proved" in page_text(result_page)
    assert "Close the job" in lead(result_page)
    assert send_form(tech_page, form).status_code == 303  # tapped twice: it stays once
    assert len(loans.loans(job_id=job.id).items) == 2
    refused = tech_page.post_form(f"/pieces/{piece}/stays", loan=loan)
    assert (refused.status_code, pieces.piece(piece).where.job_id) == (409, job.id)


def test_closing_is_ticked_beforehand_with_what_it_was_by_all_that_was_seen(tech_page: PageClient) -> None:
    job, ids = a_suspected_job("harness")
    suspect, piece = a_proved_fan(job.id)
    swap_tests.leave_piece_fitted(swap_tests.take_piece(piece, job.id, suspect_id=suspect).loan.id)
    evidence.record_observation(job.id, "put back", suspect_id=suspect, works=False)
    assert f'value="{suspect}" checked' not in tech_page.get(f"/jobs/{job.id}").text  # the old one is in again
    swap_tests.leave_piece_fitted(swap_tests.take_piece(a_second(piece), job.id, suspect_id=suspect).loan.id)
    page = tech_page.get(f"/jobs/{job.id}")
    assert 'id="close-was"' in page.text
    assert f'name="was" value="{suspect}" checked' in page.text
    assert f'name="was" value="{ids["harness"]}" checked' not in page.text
    assert "by what was seen" in page_text(page)


def a_second(piece: int) -> int:
    """Return another proved piece of the same part."""
    record = a_piece("C-08", part_id=pieces.piece(piece).part.id)
    prove_fan(record.id)
    return record.id


def test_a_fault_that_comes_and_goes_is_one_tap_and_one_tap_back(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    address = f"/suspects/{ids['fan']}/intermittent"
    page = follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/jobs/{job.id}"), address, goes="yes"))
    assert "fan: its fault comes and goes." in page_text(page)
    assert "Comes and goes: a run that works clears it only so far (30 % of runs hide it)." in page_text(page)
    assert jobs.suspects(job.id)[0].mask == 0.3
    follow_redirect(tech_page, submit_form(tech_page, page, address, goes="no"))
    assert jobs.suspects(job.id)[0].mask is None
    assert tech_page.post_form(f"/jobs/{job.id}{address}", goes="perhaps").status_code == 422
    assert tech_page.post_form(f"/jobs/{a_job().id}{address}", goes="yes").status_code == 409


def test_it_offers_the_symptoms_that_the_shop_knows(tech_page: PageClient) -> None:
    past, ids = a_suspected_job("fan")
    job_closing.close_with_causes(past.id, was=[ids["fan"]])
    assert '<option value="no pan">' in tech_page.get("/jobs/new").text
    job = a_job(symptom="Pan does nothing")
    jobs.add_suspect(job.id, "fan")
    page = tech_page.get(f"/jobs/{job.id}")
    assert "Is it one that the shop knows on the Corvid 7 moving head?" in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/symptom"))
    assert jobs.job(job.id).symptom == "no pan"
    assert "On 1 closed job of this model with this symptom it was: fan once." in page_text(page)
    assert f"Job {past.number} no pan: it was fan" in page_text(page)
    assert "Is it one that the shop knows" not in page_text(page)


def test_the_log_shows_no_figure_twice_and_says_when_nothing_moved(tech_page: PageClient) -> None:
    job, ids = a_suspected_job()
    for _ in range(5):
        evidence.record_observation(
            job.id, "measured", suspect_id=ids["fan"], says_bad=True, sensitivity=1.0, specificity=0.999
        )
    page = page_text(tech_page.get(f"/jobs/{job.id}"))
    assert "No chance moved by 0.1 %: what was seen before said as much already." in page
    assert not re.search(r"([\d.]+ %) → \1", page)


@pytest.mark.parametrize("address", ["suspects/1/intermittent", "symptom"])
def test_a_viewer_changes_neither_masks_nor_symptoms(viewer_page: PageClient, address: str) -> None:
    job, _ = a_suspected_job()
    assert viewer_page.post_form(f"/jobs/{job.id}/{address}", goes="yes", symptom="x").status_code == 403
    assert viewer_page.get(f"/jobs/{job.id}/{address}").status_code == 405
