"""Levels over REST."""

from __future__ import annotations

from inventory.domain.movements import pull, receive
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import ApiClient


def _bottle() -> tuple[int, int, int]:
    part = a_part("Flux", "consumable", kept="by level", unit="ml")
    bin_ = a_bin(part).id
    return part.id, bin_, receive.receive(part.id, 250, bin_, cost_minor=1000).lot_ids[0]


def test_a_level_is_read_shared_and_undone(as_tech: ApiClient) -> None:
    part, bin_, lot = _bottle()
    _, other, _ = a_stocked_part(5)
    job = a_job()
    pull.pull(1, bin_id=other.id, job_id=job.id)
    way = as_tech.put(f"/api/v1/parts/{part}/level-way", json={"read_by": "percent", "full": 250})
    assert way.get_json() == as_tech.get(f"/api/v1/parts/{part}/level-way").get_json()
    body = as_tech.post(f"/api/v1/lots/{lot}/levels", json={"bin_id": bin_, "value": "40"}).get_json()
    assert (body["amount"], body["used"]) == (100, 150)
    shared = as_tech.get(f"/api/v1/jobs/{job.id}/shares").get_json()["items"]
    assert [(one["amount"], one["cost_minor"]) for one in shared] == [(150, 600)]
    assert as_tech.post("/api/v1/undos", json={"entry": body["entry"]}).status_code == 201
    assert as_tech.get(f"/api/v1/lots/{lot}/levels").get_json()["items"] == []


def test_a_level_above_the_book_is_refused(as_tech: ApiClient) -> None:
    _, bin_, lot = _bottle()
    answer = as_tech.post(f"/api/v1/lots/{lot}/levels", json={"bin_id": bin_, "value": "300 ml"})
    assert (answer.status_code, answer.get_json()["reason"]) == (409, "level_up")


def test_a_new_one_is_opened(as_tech: ApiClient, as_viewer: ApiClient) -> None:
    part, _, lot = _bottle()
    assert as_tech.post(f"/api/v1/parts/{part}/open-new").get_json() == {"items": []}
    assert as_viewer.get(f"/api/v1/lots/{lot}").get_json()["opened"] is not None
    assert as_tech.post(f"/api/v1/parts/{part}/open-new").status_code == 409
    assert as_viewer.post(f"/api/v1/parts/{part}/open-new").status_code == 403


def test_what_cannot_be_is_refused(as_tech: ApiClient) -> None:
    part, bin_, lot = _bottle()
    for given in ({"read_by": "percent"}, {"read_by": "weight", "tare": 3}, {"read_by": "ear"}, {}):
        assert as_tech.put(f"/api/v1/parts/{part}/level-way", json=given).status_code == 422, given
    assert as_tech.post(f"/api/v1/lots/{lot}/levels", json={"bin_id": bin_, "value": "much"}).status_code == 422
    assert as_tech.post("/api/v1/lots/999/levels", json={"bin_id": bin_, "value": "1"}).status_code == 404
    assert as_tech.get("/api/v1/jobs/999/shares").status_code == 404
