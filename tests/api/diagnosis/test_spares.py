"""REST of what jobs turned out to be, what they left over, and which spares are worth keeping."""

from __future__ import annotations

from inventory.domain.buying import suppliers
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from tests.api.diagnosis.test_evidence import problem
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece, prove_fan


def test_closing_says_what_it_was_and_judges_the_spares(as_tech: ApiClient) -> None:
    job = a_job()
    fan, harness = jobs.add_suspect(job.id, "fan"), jobs.add_suspect(job.id, "harness")
    piece = a_piece("C-07")
    prove_fan(piece.id)
    swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job.id, suspect_id=fan.id).loan.id, "still fails")
    problem(as_tech.get(f"/api/v1/jobs/{job.id}/closing"), 404)
    closed = as_tech.post(f"/api/v1/jobs/{job.id}/close", json={"was": [harness.id], "found": "Tach wire broken."})
    assert (closed.status_code, closed.get_json()["status"]) == (200, "closed")
    body = as_tech.get(f"/api/v1/jobs/{job.id}/closing").get_json()
    assert (body["was"], body["something_else"], body["person"]) == (["harness"], False, as_tech.person.shown_as)
    (carried,) = body["carried"]
    assert (carried["piece_id"], carried["p_after"] > 0.9) == (piece.id, True)


def test_closing_refuses_a_suspect_of_another_job(as_tech: ApiClient) -> None:
    job, other = a_job(), a_job()
    fan = jobs.add_suspect(other.id, "fan")
    details = problem(as_tech.post(f"/api/v1/jobs/{job.id}/close", json={"was": [fan.id]}), 409)
    assert details["reason"] == "other_job"
    assert jobs.job(job.id).status == "open"
    problem(as_tech.post(f"/api/v1/jobs/{job.id}/close", json={"was": [0]}), 422)
    problem(as_tech.post(f"/api/v1/jobs/{job.id}/close", json={"something_else": "no"}), 422)


def test_a_part_bought_in_vain_is_offered_and_kept_as_a_spare(as_tech: ApiClient) -> None:
    part, job = a_part("24 V fan", "fan"), a_job()
    lot = receive.receive(part.id, 1, a_bin(part).id).lot_ids[0]
    jobs.add_suspect(job.id, "fan", part.id)
    pull.pull(1, part_id=part.id, job_id=job.id)
    as_tech.post(f"/api/v1/jobs/{job.id}/close", json={"something_else": True})
    (offer,) = as_tech.get(f"/api/v1/jobs/{job.id}/left-over").get_json()["items"]
    assert (offer["lot"]["id"], offer["taken"]) == (lot, True)
    response = as_tech.post(f"/api/v1/jobs/{job.id}/kept-spares", json={"lot_id": lot, "name": "C-07", "ran": True})
    assert response.status_code == 201
    assert (response.get_json()["piece"]["name"], response.get_json()["proved"]) == ("C-07", True)
    assert response.headers["Location"] == f"/api/v1/pieces/{response.get_json()['piece']['id']}"
    again = problem(as_tech.post(f"/api/v1/jobs/{job.id}/kept-spares", json={"lot_id": lot}), 409)
    assert again["reason"] == "nothing_left_over"
    problem(as_tech.post(f"/api/v1/jobs/{job.id}/kept-spares", json={}), 422)


def test_it_lists_which_spares_are_worth_keeping(as_viewer: ApiClient) -> None:
    part = a_part("24 V fan", "fan")
    suppliers.add_offer(part.id, suppliers.add_supplier("Northgate", lead_days=4).id, 1800)
    jobs.add_suspect(a_job().id, "fan", part.id)
    body = as_viewer.get("/api/v1/keep-list").get_json()
    (only,) = body["parts"]
    assert (only["part"]["id"], only["jobs"], only["price_minor"], only["saved_minor"]) == (part.id, 1, 1800, None)
    assert body["unpriced"] == []
    assert {one["name"] for one in body["figures"]} >= {"minute_minor", "at_fault"}


def test_a_viewer_may_close_and_keep_nothing(as_viewer: ApiClient) -> None:
    job = a_job()
    problem(as_viewer.post(f"/api/v1/jobs/{job.id}/close", json={}), 403)
    problem(as_viewer.post(f"/api/v1/jobs/{job.id}/kept-spares", json={"lot_id": 1}), 403)
    assert as_viewer.get(f"/api/v1/jobs/{job.id}/left-over").get_json()["items"] == []
    problem(as_viewer.get("/api/v1/jobs/99/left-over"), 404)
