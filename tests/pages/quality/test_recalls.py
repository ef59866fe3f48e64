"""The recall page and what a lot's and a job's pages show of where things came from and went."""

from __future__ import annotations

import io

from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from inventory.domain.catalogue import lots
from inventory.domain.movements import pull, receive
from inventory.domain.quality import attachments, recall
from tests.domain.quality.test_attachments import PDF, picture
from tests.factories import a_job, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, submit_form
from tests.proof_factories import a_piece


def _held() -> tuple[int, int]:
    _, bin_, receipt = a_stocked_part(10, maker_lot="B17", cost_minor=500)
    job = a_job(customer="Pier Nine", unit_serial="SN-77")
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    lots.hold_lot(receipt.lot_ids[0], "no spring in a contact")
    return receipt.lot_ids[0], job.id


def test_a_lot_shows_how_it_flowed_in_a_picture_and_in_words(tech_page: PageClient) -> None:
    lot, _ = _held()
    page = tech_page.get(f"/lots/{lot}")
    assert '<svg viewBox="0 0 360' in page.get_data(as_text=True)
    assert "2 pieces from a supplier not noted" in page_text(page)
    assert "still open (Pier Nine)." in page_text(page)
    assert "Recall: 0 of 1 jobs seen to" in page_text(page)


def test_a_recall_is_worked_through_job_by_job(tech_page: PageClient) -> None:
    lot, job = _held()
    page = tech_page.get(f"/lots/{lot}/recall")
    assert "0 of 1 job seen to" in page_text(page)
    assert "serial SN-77" in page_text(page)
    result_page = follow_redirect(
        tech_page, submit_form(tech_page, page, "/recall", f"see-{job}", note="called, comes in on Friday")
    )
    assert "1 of 1 job seen to" in page_text(result_page)
    assert "called, comes in on Friday" in page_text(result_page)
    back = follow_redirect(tech_page, submit_form(tech_page, result_page, "/recall", f"see-{job}"))
    assert "0 of 1 job seen to" in page_text(back)


def test_scrapping_the_rest_ends_it_and_can_be_undone(tech_page: PageClient) -> None:
    lot, _ = _held()
    page = tech_page.get(f"/lots/{lot}/recall")
    refused = submit_form(tech_page, page, "/scrap-rest", outcome=" ")
    assert refused.status_code == 422
    result_page = follow_redirect(tech_page, submit_form(tech_page, refused, "/scrap-rest", outcome="melted"))
    assert "what comes back stays on hold" in page_text(result_page)
    follow_redirect(tech_page, submit_form(tech_page, result_page, "/undo"))
    assert recall.recall(lot).left == 8


def test_lots_with_the_same_marks_are_held_on_request(tech_page: PageClient) -> None:
    _, bin_, first = a_stocked_part(5, date_code="2614")
    part = lots.lot(first.lot_ids[0]).part_id
    second = receive.receive(part, 5, bin_.id, date_code="2614").lot_ids[0]
    lots.hold_lot(first.lot_ids[0], "cracked")
    page = tech_page.get(f"/lots/{first.lot_ids[0]}/recall")
    follow_redirect(tech_page, submit_form(tech_page, page, "/hold-alike", lots=[second]))
    assert lots.lot(second).on_hold


def test_the_list_is_sent_for_a_spreadsheet(tech_page: PageClient) -> None:
    lot, _ = _held()
    answer = tech_page.get(f"/lots/{lot}/recall.csv")
    assert answer.content_type == "text/csv; charset=utf-8"
    assert "attachment" in answer.headers["Content-Disposition"]
    assert "SN-77" in answer.get_data(as_text=True)


def test_a_viewer_sees_the_list_without_buttons(viewer_page: PageClient) -> None:
    lot, _ = _held()
    page = viewer_page.get(f"/lots/{lot}/recall")
    assert page.status_code == 200
    assert [form.action for form in page_forms(page) if form.method == "post"] == []


def test_a_lot_never_held_says_so(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part()
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}/recall")
    assert page.status_code == 409
    assert "never on hold" in page_text(page)


def test_a_job_shows_what_it_is_made_of(tech_page: PageClient) -> None:
    _, job = _held()
    fitted = a_piece("C-09", spare=False)
    pull.pull_piece(fitted.id, job_id=job)
    assert "Where all of it came from" in page_text(tech_page.get(f"/jobs/{job}"))
    text = page_text(tech_page.get(f"/jobs/{job}/trace"))
    assert "maker's lot B17" in text
    assert "piece C-09" in text
    assert "on hold" in text


def test_all_that_happened_to_a_lot_is_on_a_page(tech_page: PageClient) -> None:
    lot, _ = _held()
    assert "receive" in page_text(tech_page.get(f"/lots/{lot}/movements"))
    assert tech_page.get(f"/lots/{lot}/movements?after=nonsense").status_code == 422
    assert tech_page.get("/lots/999/movements").status_code == 404


def _send(client: PageClient, lot: int, content: bytes, name: str) -> TestResponse:
    form = find_form(client.get(f"/lots/{lot}"), "/files", "attach")
    file = FileStorage(io.BytesIO(content), name)
    boundary, body = encode_multipart({**dict(form.fields), "kind": "photo", "file": file})
    return client.post(form.action, data=body, content_type=f"multipart/form-data; boundary={boundary}")


def test_a_photo_is_kept_shown_and_removed(tech_page: PageClient) -> None:
    lot, _ = _held()
    result_page = follow_redirect(tech_page, _send(tech_page, lot, picture("JPEG"), "bag.jpg"))
    assert "bag.jpg is kept with this lot." in page_text(result_page)
    key = attachments.attachments(lot)[0].id
    answer = tech_page.get(f"/files/{key}")
    assert (answer.content_type, answer.headers["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    follow_redirect(tech_page, submit_form(tech_page, result_page, f"/files/{key}/remove"))
    assert tech_page.get(f"/files/{key}").status_code == 404


def test_a_page_called_a_photo_is_refused_and_never_sent(tech_page: PageClient) -> None:
    lot, _ = _held()
    refused = _send(tech_page, lot, b"<html><script>alert(1)</script>", "photo.jpg")
    assert refused.status_code == 422
    assert attachments.attachments(lot) == []


def test_a_paper_with_a_name_like_a_page_is_saved_and_not_opened(tech_page: PageClient) -> None:
    lot, _ = _held()
    _send(tech_page, lot, PDF, 'x".html')
    answer = tech_page.get(f"/files/{attachments.attachments(lot)[0].id}")
    assert answer.content_type == "application/pdf"
    assert answer.headers["Content-Disposition"].startswith("attachment")


def test_a_photo_of_two_megabytes_is_taken_and_a_larger_one_than_is_kept_is_not(tech_page: PageClient) -> None:
    lot, _ = _held()
    large = PDF.replace(b"%%EOF", b" " * 2_000_000 + b"%%EOF")
    assert _send(tech_page, lot, large, "a.pdf").status_code == 303
    assert _send(tech_page, lot, PDF + b" " * 9_000_000, "b.pdf").status_code == 413


def test_a_viewer_reads_files_and_attaches_none(tech_page: PageClient, viewer_page: PageClient) -> None:
    lot, _ = _held()
    _send(tech_page, lot, picture(), "bag.png")
    assert viewer_page.get(f"/files/{attachments.attachments(lot)[0].id}").status_code == 200
    assert viewer_page.post_form(f"/lots/{lot}/files").status_code == 403
