"""Undo: offered right after an action and always from the history, once, and never what has moved on."""

from __future__ import annotations

from datetime import timedelta

from inventory.domain.buying import bag_pairings
from inventory.domain.catalogue import history
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.jobs import people
from inventory.domain.movements import pull, receive, undo
from tests.barcode_images import iso15434_envelope
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_forms, page_text, send_form, submit_form


def test_it_is_offered_in_the_band_for_a_minute_and_in_the_history_for_good(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    with clock.freeze_at(clock.now() - timedelta(minutes=5)):
        entry = pull.pull(bin_id=bin_.id, job_id=a_job().id).entry
    page = tech_page.get(f"/bins/{bin_.id}?done={entry}")
    assert "1 piece of 4-way header taken from" in page_text(page)
    undos = [form for form in page_forms(page) if form.action == f"/entries/{entry}/undo"]
    assert len(undos) == 1  # only the one of the history
    follow_redirect(tech_page, send_form(tech_page, undos[0]))
    assert stock_of(part.id).on_shelf == 5


def test_it_undoes_once_however_often_it_is_tapped(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    entry = pull.pull(bin_id=bin_.id, job_id=a_job().id).entry
    page, old_page = (tech_page.get(f"/bins/{bin_.id}") for _ in range(2))
    for _ in range(2):
        assert submit_form(tech_page, page, f"/entries/{entry}/undo").status_code == 302
    refused = submit_form(tech_page, old_page, f"/entries/{entry}/undo")
    assert refused.status_code == 409
    assert "That was undone already." in page_text(refused)
    assert stock_of(part.id).on_shelf == 5


def test_a_pull_that_was_put_back_is_not_undone_too(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    job = a_job()
    entry = pull.pull(3, bin_id=bin_.id, job_id=job.id).entry
    page = tech_page.get(f"/bins/{bin_.id}")
    back = pull.put_back(1, job_id=job.id, part_id=part.id)
    refused = submit_form(tech_page, page, f"/entries/{entry}/undo")
    assert refused.status_code == 409
    assert f"Job {job.number} has put back some of that since: undo the put back first." in page_text(refused)
    assert stock_of(part.id).on_shelf == 3
    undo.undo(back.entry)
    assert submit_form(tech_page, tech_page.get(f"/bins/{bin_.id}"), f"/entries/{entry}/undo").status_code == 302
    assert stock_of(part.id).on_shelf == 5


def test_it_goes_back_to_the_page_it_was_tapped_on_and_never_to_another_site(tech_page: PageClient) -> None:
    for referrer, path in (
        ("http://localhost/jobs/1?done=3", "http://localhost/jobs/1"),
        ("http://evil.example/x", None),
    ):
        _, bin_, _ = a_stocked_part(5)
        entry = pull.pull(bin_id=bin_.id, job_id=a_job().id).entry
        fields = {"csrf_token": tech_page.form_token()}
        result_page = tech_page.post(f"/entries/{entry}/undo", data=fields, headers={"Referer": referrer})
        assert result_page.headers["Location"] == (path or f"/bins/{bin_.id}")


def test_it_knows_no_such_entry_and_no_such_method(tech_page: PageClient) -> None:
    assert tech_page.post_form("/entries/999/undo").status_code == 404
    assert tech_page.get("/entries/1/undo").status_code == 405


def test_a_viewer_undoes_nothing(viewer_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    entry = pull.pull(bin_id=bin_.id, job_id=a_job().id).entry
    assert viewer_page.post_form(f"/entries/{entry}/undo").status_code == 403
    assert stock_of(part.id).on_shelf == 4
    assert not history.movements(kind="reverse").items
    assert people.person(viewer_page.person.id).role == "viewer"


def test_an_address_that_names_no_entry_shows_no_band(tech_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    for done in ("999", "abc", "-1", "9" * 40, "<script>"):
        page = tech_page.get(f"/bins/{bin_.id}", query_string={"done": done})
        assert page.status_code == 200
        assert "taken from" not in page_text(page)


def test_undoing_a_receipt_says_what_numbers_mean_now(tech_page: PageClient) -> None:
    part = a_part()
    receipt = receive.receive(part.id, 5, a_bin(part).id, raw_code=iso15434_envelope("1PQX-77", "Q5"))
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}?done={receipt.entry}")
    text = page_text(follow_redirect(tech_page, submit_form(tech_page, page, f"/entries/{receipt.entry}/undo")))
    assert "QX-77 is no longer taken for it: the next bag that carries it is asked about." in text
    assert bag_pairings.pairings().items == []
