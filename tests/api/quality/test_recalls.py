"""Provenance and recalls over REST: traces both ways, the list of a recall, files kept with lots."""

from __future__ import annotations

from base64 import b64decode, b64encode

import pytest

from inventory.domain.catalogue import bins, lots
from inventory.domain.movements import pull
from tests.domain.quality.test_attachments import PDF, picture
from tests.factories import a_job, a_stocked_part
from tests.http_clients import ApiClient


def _held(client: ApiClient) -> tuple[int, int]:
    """Return a lot on hold and a job that has some of it."""
    _, bin_, done = a_stocked_part(10, maker_lot="B17", cost_minor=500)
    job = a_job(customer="Pier Nine")
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    answer = client.post(f"/api/v1/lots/{done.lot_ids[0]}/hold", json={"reason": "no spring"})
    assert answer.status_code == 201
    return done.lot_ids[0], job.id


def test_a_lot_is_traced_to_the_jobs_and_what_is_left(as_viewer: ApiClient, as_tech: ApiClient) -> None:
    lot, job = _held(as_tech)
    body = as_viewer.get(f"/api/v1/lots/{lot}/trace").get_json()
    assert [(one["job"]["id"], one["quantity"]) for one in body["jobs"]] == [(job, 2)]
    assert (body["left"], body["origin"]["words"]) == (8, "a supplier not noted")
    assert body["places"][0]["quantity"] == 8


def test_a_job_is_traced_back_to_its_lots(as_viewer: ApiClient, as_tech: ApiClient) -> None:
    lot, job = _held(as_tech)
    body = as_viewer.get(f"/api/v1/jobs/{job}/trace").get_json()
    assert [(one["lot"]["id"], one["cost_minor"]) for one in body["used"]] == [(lot, 100)]
    assert body["cost_minor"] == 100


def test_a_recall_is_worked_through_and_ended(as_tech: ApiClient) -> None:
    lot, job = _held(as_tech)
    assert as_tech.get(f"/api/v1/lots/{lot}/recall").get_json()["to_do"] == 1
    done = as_tech.post(f"/api/v1/lots/{lot}/recall", json={"job_id": job, "note": "called"}).get_json()
    assert (done["to_do"], done["lines"][0]["note"]) == (0, "called")
    ended = as_tech.post(f"/api/v1/lots/{lot}/scrap-rest", json={"outcome": "melted"}).get_json()
    assert (ended["left"], ended["hold"]["condemned"]) == (0, True)
    assert bins.holdings(lot_id=lot) == []


def test_scrapping_the_rest_is_done_once_under_one_key(as_tech: ApiClient) -> None:
    lot, _ = _held(as_tech)
    key = {"Idempotency-Key": "once and for all"}
    first = as_tech.post(f"/api/v1/lots/{lot}/scrap-rest", json={"outcome": "melted"}, headers=key)
    second = as_tech.post(f"/api/v1/lots/{lot}/scrap-rest", json={"outcome": "melted"}, headers=key)
    assert (first.status_code, second.status_code) == (200, 200)
    assert second.headers["Benchproof-Repeated"] == "true"


def test_lots_alike_are_held_on_request(as_tech: ApiClient) -> None:
    lot, _ = _held(as_tech)
    _, _, other = a_stocked_part(5, maker_lot="B17")
    assert as_tech.get(f"/api/v1/lots/{lot}/alike").get_json()["items"] == []  # another part of another supplier
    again = as_tech.post(
        "/api/v1/receipts",
        json={
            "part_id": lots.lot(lot).part_id, "quantity": 5, "bin_id": bins.holdings(lot_id=lot)[0].bin.id,
            "maker_lot": "B17",
        },
    ).get_json()["lot_ids"][0]  # fmt: skip
    assert [one["lot"]["id"] for one in as_tech.get(f"/api/v1/lots/{lot}/alike").get_json()["items"]] == [again]
    response = as_tech.post(f"/api/v1/lots/{lot}/hold-alike", json={"lot_ids": [again]})
    assert response.status_code == 201
    assert lots.lot(again).on_hold
    assert as_tech.post(f"/api/v1/lots/{lot}/hold-alike", json={"lot_ids": other.lot_ids}).status_code == 422


@pytest.mark.parametrize(
    ("path", "status"),
    [("/lots/999/trace", 404), ("/jobs/999/trace", 404), ("/lots/999/recall", 404), ("/attachments/999", 404)],
)
def test_what_does_not_exist_is_not_found(path: str, status: int, as_viewer: ApiClient) -> None:
    assert as_viewer.get(f"/api/v1{path}").status_code == status


def test_a_lot_never_held_has_no_list(as_tech: ApiClient) -> None:
    _, _, done = a_stocked_part()
    answer = as_tech.get(f"/api/v1/lots/{done.lot_ids[0]}/recall")
    assert (answer.status_code, answer.get_json()["reason"]) == (409, "not_on_hold")


def test_a_viewer_reads_but_does_not_tick(as_viewer: ApiClient, as_tech: ApiClient) -> None:
    lot, job = _held(as_tech)
    assert as_viewer.post(f"/api/v1/lots/{lot}/recall", json={"job_id": job}).status_code == 403
    assert as_viewer.post(f"/api/v1/lots/{lot}/scrap-rest", json={"outcome": "x"}).status_code == 403


def test_a_file_is_kept_read_and_removed(as_tech: ApiClient) -> None:
    lot, _ = _held(as_tech)
    response = as_tech.post(
        f"/api/v1/lots/{lot}/attachments",
        json={"content": b64encode(PDF).decode(), "name": "papers.pdf", "kind": "certificate"},
    )
    assert response.status_code == 201
    assert response.headers["Location"] == f"/api/v1/attachments/{response.get_json()['id']}"
    body = as_tech.get(response.headers["Location"]).get_json()
    assert (b64decode(body["content"]), body["file"]["media"]) == (PDF, "application/pdf")
    assert as_tech.delete(response.headers["Location"]).status_code == 204
    assert as_tech.get(response.headers["Location"]).status_code == 404
    assert as_tech.get(f"/api/v1/lots/{lot}/attachments").get_json()["items"] == []


def test_a_file_larger_than_other_bodies_may_be_is_taken(as_tech: ApiClient) -> None:
    lot, _ = _held(as_tech)
    large = PDF.replace(b"%%EOF", b" " * 2_000_000 + b"%%EOF")
    answer = as_tech.post(f"/api/v1/lots/{lot}/attachments", json={"content": b64encode(large).decode()})
    assert answer.status_code == 201
    too_large = b64encode(PDF + b" " * 8_000_000 + b"%%EOF").decode()
    assert as_tech.post(f"/api/v1/lots/{lot}/attachments", json={"content": too_large}).status_code == 413
    elsewhere = as_tech.post(f"/api/v1/lots/{lot}/hold", json={"reason": "x" * 2_000_000})
    assert elsewhere.status_code == 413


@pytest.mark.parametrize("content", ["<script>", "bm8gcGljdHVyZQ==", "", b64encode(picture("GIF")).decode()])
def test_what_is_no_picture_or_paper_is_refused(content: str, as_tech: ApiClient) -> None:
    lot, _ = _held(as_tech)
    assert as_tech.post(f"/api/v1/lots/{lot}/attachments", json={"content": content}).status_code == 422
