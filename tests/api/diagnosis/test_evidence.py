"""REST of what was seen on a job, what it says, and what to do next."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.diagnosis import job_closing, swap_tests
from inventory.domain.jobs import jobs
from inventory.reckoning.diagnosis.case import case_from_dict
from inventory.reckoning.diagnosis.posterior import diagnose
from tests.factories import a_job
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece, prove_fan


def a_suspected_job() -> tuple[int, dict[str, int]]:
    job = a_job()
    return job.id, {name: jobs.add_suspect(job.id, name).id for name in ("fan", "harness")}


def problem(answer: Any, status: int) -> dict[str, Any]:
    """Return the problem that an answer tells."""
    assert answer.status_code == status, answer.text
    assert answer.content_type == "application/problem+json"
    found: dict[str, Any] = answer.get_json()
    assert {"type", "title", "status", "detail", "reason"} <= set(found)
    return found


def test_it_logs_a_measurement_and_tells_how_the_chances_moved(as_tech: ApiClient) -> None:
    job, ids = a_suspected_job()
    data = {"kind": "measured", "suspect_id": ids["fan"], "says_bad": True, "note": "rubs"}
    answer = as_tech.post(f"/api/v1/jobs/{job}/evidence", json=data)
    assert answer.status_code == 201
    noted = answer.get_json()
    assert (noted["evidence"]["words"], noted["evidence"]["person"]) == (
        "fan measured: bad.",
        as_tech.person.shown_as,
    )
    assert (noted["moved"][0]["name"], noted["moved"][0]["before"] < noted["moved"][0]["after"]) == ("fan", True)
    read = as_tech.get(answer.headers["Location"])
    assert read.get_json() == noted["evidence"]
    listed = as_tech.get(f"/api/v1/jobs/{job}/evidence").get_json()
    assert listed == {"items": [noted["evidence"]], "next": None}


def test_sent_again_with_the_same_key_it_is_logged_once(as_tech: ApiClient) -> None:
    job, ids = a_suspected_job()
    data = {"kind": "put back", "suspect_id": ids["fan"], "works": False}
    for _ in range(2):
        as_tech.post(f"/api/v1/jobs/{job}/evidence", json=data, headers={"Idempotency-Key": "once"})
    assert len(as_tech.get(f"/api/v1/jobs/{job}/evidence").get_json()["items"]) == 1


def test_it_strikes_out_a_slip(as_tech: ApiClient) -> None:
    job, ids = a_suspected_job()
    data = {"kind": "repaired", "suspect_id": ids["harness"], "works": True}
    key = as_tech.post(f"/api/v1/jobs/{job}/evidence", json=data).get_json()["evidence"]["id"]
    struck = as_tech.post(f"/api/v1/evidence/{key}/strike", json={"reason": "other unit"})
    assert (struck.status_code, struck.get_json()["struck_reason"]) == (200, "other unit")
    problem(as_tech.post(f"/api/v1/evidence/{key}/strike", json={"reason": "again"}), 409)
    problem(as_tech.post(f"/api/v1/evidence/{key}/strike", json={}), 422)
    problem(as_tech.post("/api/v1/evidence/99/strike", json={"reason": "x"}), 404)


def test_it_runs_the_unit_with_pieces_that_are_out(as_tech: ApiClient) -> None:
    job, ids = a_suspected_job()
    loan = swap_tests.take_piece(a_piece("C-07").id, job, suspect_id=ids["fan"]).loan
    data = {"kind": "swapped", "works": True, "loan_ids": [loan.id]}
    noted = as_tech.post(f"/api/v1/jobs/{job}/evidence", json=data).get_json()
    assert noted["evidence"]["loan_ids"] == [loan.id]
    swap_tests.bring_back_piece(loan.id, "works with it")
    again = problem(as_tech.post(f"/api/v1/jobs/{job}/evidence", json=data), 409)
    assert again["reason"] == "not_out"


def test_it_works_out_the_diagnosis_and_gives_the_case_behind_it(as_viewer: ApiClient) -> None:
    job, ids = a_suspected_job()
    piece = a_piece("C-07")
    prove_fan(piece.id)
    swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job, suspect_id=ids["fan"]).loan.id, "works with it")
    body = as_viewer.get(f"/api/v1/jobs/{job}/diagnosis").get_json()
    assert body["sentence"].startswith("Most likely fan alone: ")
    assert body["suspects"][0]["name"] == "fan"
    assert [line["kind"] for line in body["log"]] == ["complaint", "swap test"]
    assert body["priors"]["jobs"] == 0
    case = as_viewer.get(f"/api/v1/jobs/{job}/case").get_json()
    chances = diagnose(case_from_dict(case)).p_bad
    assert chances["fan"] == pytest.approx(body["suspects"][0]["p_bad"])
    assert body["others"][0]["piece_id"] == piece.id


def test_it_says_what_to_do_next(as_viewer: ApiClient) -> None:
    job, _ = a_suspected_job()
    body = as_viewer.get(f"/api/v1/jobs/{job}/next-steps").get_json()
    assert {one["action"] for one in body["steps"]} == {"fix", "measure", "give up"}
    best = body["steps"][0]
    assert best["total_minor"] == best["cost_now_minor"] + best["cost_after_minor"]
    assert all(one["assumed"] for one in body["figures"])


def test_it_suggests_the_suspects_of_earlier_jobs(as_tech: ApiClient) -> None:
    past, ids = a_suspected_job()
    as_tech.post(f"/api/v1/jobs/{past}/close", json={"was": [ids["harness"]]})
    job = a_job()
    items = as_tech.get(f"/api/v1/jobs/{job.id}/suggested-suspects").get_json()["items"]
    assert [(one["name"], one["times"]) for one in items] == [("harness", 1), ("fan", 0)]


@pytest.mark.parametrize("what", ["diagnosis", "next-steps", "case"])
def test_it_refuses_a_job_without_suspects_and_one_that_is_not_there(as_viewer: ApiClient, what: str) -> None:
    assert problem(as_viewer.get(f"/api/v1/jobs/{a_job().id}/{what}"), 409)["reason"] == "no_suspect"
    problem(as_viewer.get(f"/api/v1/jobs/99/{what}"), 404)


def test_it_refuses_23_things_with_a_sentence(as_viewer: ApiClient) -> None:
    job = a_job()
    for number in range(22):
        jobs.add_suspect(job.id, f"suspect {number}")
    details = problem(as_viewer.get(f"/api/v1/jobs/{job.id}/diagnosis"), 409)
    assert details["reason"] == "too_many"
    assert "22 is the most that can be worked out exactly" in details["detail"]


def test_it_refuses_observations_that_contradict_each_other(as_tech: ApiClient) -> None:
    job, ids = a_suspected_job()
    sure = {"kind": "measured", "suspect_id": ids["fan"], "sensitivity": 1.0, "specificity": 1.0}
    first = as_tech.post(f"/api/v1/jobs/{job}/evidence", json={**sure, "says_bad": True}).get_json()
    details = problem(as_tech.post(f"/api/v1/jobs/{job}/evidence", json={**sure, "says_bad": False}), 409)
    assert details["reason"] == "contradiction"
    assert first["evidence"]["id"] in details["evidence_ids"]


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({}, "kind"),
        ({"kind": "looked at"}, "kind"),
        ({"kind": "measured", "says_bad": True, "sensitivity": 1.2}, "sensitivity"),
        ({"kind": "measured", "says_bad": True, "specificity": "high"}, "specificity"),
        ({"kind": "measured", "says_bad": "yes"}, "says_bad"),
        ({"kind": "measured"}, "says_bad"),
        ({"kind": "measured", "says_bad": True, "works": True}, "works"),
        ({"kind": "put back"}, "works"),
        ({"kind": "swapped", "works": True, "loan_ids": "7"}, "loan_ids"),
        ({"kind": "repaired", "colour": "red"}, "colour"),
    ],
)
def test_it_refuses_what_cannot_have_been_seen(as_tech: ApiClient, sent: dict[str, Any], field: str) -> None:
    job, ids = a_suspected_job()
    about = {} if sent.get("kind") == "swapped" else {"suspect_id": ids["fan"]}
    details = problem(as_tech.post(f"/api/v1/jobs/{job}/evidence", json={**about, **sent}), 422)
    assert field in details["errors"]


def test_a_number_that_is_none_is_no_json(as_tech: ApiClient) -> None:
    job, ids = a_suspected_job()
    body = f'{{"kind": "measured", "suspect_id": {ids["fan"]}, "says_bad": true, "sensitivity": NaN}}'
    problem(as_tech.post(f"/api/v1/jobs/{job}/evidence", data=body, content_type="application/json"), 400)


def test_a_viewer_may_look_but_log_nothing(as_viewer: ApiClient) -> None:
    job, ids = a_suspected_job()
    data = {"kind": "put back", "suspect_id": ids["fan"], "works": False}
    problem(as_viewer.post(f"/api/v1/jobs/{job}/evidence", json=data), 403)
    assert as_viewer.get(f"/api/v1/jobs/{job}/evidence").status_code == 200


def test_it_takes_no_method_that_is_not_there(as_tech: ApiClient) -> None:
    assert as_tech.delete(f"/api/v1/jobs/{a_job().id}/diagnosis").status_code == 405


# ---- a fault that comes and goes -------------------------------------------------------------------------


def test_a_suspect_gets_a_mask_of_its_own_and_loses_it(as_tech: ApiClient) -> None:
    job = a_job()
    fan = jobs.add_suspect(job.id, "fan")
    put = as_tech.put(f"/api/v1/suspects/{fan.id}/mask", json={"mask": 0.4})
    assert (put.status_code, put.get_json()["mask"]) == (200, 0.4)
    assert as_tech.get(f"/api/v1/jobs/{job.id}/suspects").get_json()["items"][0]["mask"] == 0.4
    assert as_tech.put(f"/api/v1/suspects/{fan.id}/mask", json={"mask": None}).get_json()["mask"] is None


@pytest.mark.parametrize("sent", [{}, {"mask": 1}, {"mask": -0.1}, {"mask": "0.3"}, {"mask": True}, {"often": 1}])
def test_a_mask_that_cannot_be_changes_nothing(as_tech: ApiClient, sent: dict[str, Any]) -> None:
    fan = jobs.add_suspect(a_job().id, "fan")
    problem(as_tech.put(f"/api/v1/suspects/{fan.id}/mask", json=sent), 422)
    assert jobs.suspects(fan.job_id)[0].mask is None


def test_a_mask_is_for_open_jobs_and_suspects_that_there_are(as_tech: ApiClient) -> None:
    fan = jobs.add_suspect(a_job().id, "fan")
    job_closing.close_with_causes(fan.job_id)
    problem(as_tech.put(f"/api/v1/suspects/{fan.id}/mask", json={"mask": 0.3}), 409)
    problem(as_tech.put("/api/v1/suspects/999/mask", json={"mask": 0.3}), 404)


def test_the_diagnosis_says_which_jobs_counted_and_why_a_line_moved_nothing(as_viewer: ApiClient) -> None:
    past = a_job()
    job_closing.close_with_causes(past.id, was=[jobs.add_suspect(past.id, "fan").id])
    job = a_job(symptom="Pan: no")
    jobs.add_suspect(job.id, "fan")
    body = as_viewer.get(f"/api/v1/jobs/{job.id}/diagnosis").get_json()
    assert body["priors"]["counted"] == [{"id": past.id, "number": past.number, "symptom": "no pan", "it_was": "fan"}]
    assert body["log"][0]["still"] == ""
