"""Count walks over REST."""

from __future__ import annotations

from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.movements import pull
from tests.factories import a_job, a_stocked_part
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece


def _walk(client: ApiClient, bin_id: int, **more: object) -> int:
    response = client.post("/api/v1/count-walks", json={"bin_ids": [bin_id], **more})
    assert response.status_code == 201, response.get_json()
    return int(response.get_json()["id"])


def test_a_bin_is_counted_reviewed_and_booked(as_tech: ApiClient) -> None:
    part, bin_, done = a_stocked_part(20, cost_minor=2000)
    walk = _walk(as_tech, bin_.id)
    at = f"/api/v1/count-walks/{walk}"
    assert as_tech.post(f"{at}/next").get_json()["bin"]["id"] == bin_.id
    body = as_tech.get(f"{at}/bins/{bin_.id}").get_json()
    assert [one["booked"] for one in body["lots"]] == [None]
    data = {"line": body["line"], "lots": [{"lot_id": done.lot_ids[0], "quantity": 19}]}
    assert as_tech.post(f"{at}/bins/{bin_.id}/tally", json=data).get_json()["bin"]["state"] == "counted"
    differs = as_tech.get(f"{at}/differences").get_json()["items"][0]
    assert [(differ["difference"], differ["value_minor"]) for differ in differs["differences"]] == [(-1, -100)]
    assert as_tech.post(f"{at}/end").get_json()["reason"] == "differences_wait"
    booked = as_tech.post(f"{at}/book", json={"bin_ids": [bin_.id]})
    assert booked.get_json()["items"][0]["quantity"] == -1
    assert stock_of(part.id).on_shelf == 19
    assert as_tech.post(f"{at}/end").get_json()["ended"] is not None
    assert as_tech.post(f"{at}/next").status_code == 409


def test_a_pull_meanwhile_is_told(as_tech: ApiClient) -> None:
    _, bin_, done = a_stocked_part(20)
    walk = _walk(as_tech, bin_.id, blind=False)
    at = f"/api/v1/count-walks/{walk}/bins/{bin_.id}"
    body = as_tech.get(at).get_json()
    assert body["lots"][0]["booked"] == 20
    pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    data = {"line": body["line"], "lots": [{"lot_id": done.lot_ids[0], "quantity": 20}]}
    answer = as_tech.post(f"{at}/tally", json=data)
    assert (answer.status_code, answer.get_json()["reason"]) == (409, "moved_meanwhile")


def test_a_missing_piece_is_asked_for_again_and_a_bin_left_out(as_tech: ApiClient) -> None:
    piece = a_piece("C-07")
    assert piece.bin_id is not None
    at = f"/api/v1/count-walks/{_walk(as_tech, piece.bin_id)}"
    body = as_tech.get(f"{at}/bins/{piece.bin_id}").get_json()
    lots = [{"lot_id": one["lot"]["id"], "quantity": 0} for one in body["lots"]]
    data = {"line": body["line"], "lots": lots, "pieces": [{"piece_id": piece.id, "seen": False}]}
    states = [as_tech.post(f"{at}/bins/{piece.bin_id}/tally", json=data).get_json()["bin"]["state"] for _ in range(2)]
    assert states == ["recount", "counted"]
    assert as_tech.post(f"{at}/bins/{piece.bin_id}/again").get_json()["to_count"] == 1
    assert as_tech.post(f"{at}/bins/{piece.bin_id}/leave-out").get_json()["state"] == "left out"
    assert as_tech.get(f"{at}/bins").get_json()["items"][0]["rounds"] == 2


def test_which_to_count_first_is_listed(as_viewer: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(5, cost_minor=9000)
    items = as_viewer.get("/api/v1/count-first").get_json()["items"]
    assert [(one["bin"]["id"], one["value_minor"]) for one in items] == [(bin_.id, 9000)]


def test_what_cannot_be_is_refused(as_tech: ApiClient, as_viewer: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    walk = _walk(as_tech, bin_.id)
    at = f"/api/v1/count-walks/{walk}"
    assert as_tech.get("/api/v1/count-walks/999").status_code == 404
    assert as_tech.get(f"{at}/bins/999").status_code == 404
    assert as_tech.post("/api/v1/count-walks", json={"bin_ids": []}).status_code == 422
    assert as_tech.post(f"{at}/bins/{bin_.id}/tally", json={"lots": []}).status_code == 422
    assert as_tech.post(f"{at}/bins/{bin_.id}/tally", json={"line": "x", "lots": []}).status_code == 422
    assert as_viewer.post(f"{at}/end").status_code == 403
    assert [one["id"] for one in as_viewer.get("/api/v1/count-walks?open=true").get_json()["items"]] == [walk]
