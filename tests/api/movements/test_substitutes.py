"""/parts/.../instead, pulls with instead_of, /jobs/.../stand-ins and /unit-models/.../parts."""

from __future__ import annotations

from inventory.domain.catalogue import parts
from inventory.domain.jobs import jobs
from inventory.domain.movements.undo import undo
from tests.api.problem_details import problem
from tests.factories import a_job, a_part, stocked
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece

API = "/api/v1"


def test_a_program_asks_what_fits_and_takes_it(as_tech: ApiClient) -> None:
    asked, job = a_part("latched header"), a_job()
    other, _, _ = stocked(4)
    parts.set_substitute(asked.id, other.id, "5 mm longer")
    jobs.set_need(job.id, asked.id, 2)
    found = as_tech.get(f"{API}/parts/{asked.id}/instead").get_json()
    (option,) = found["options"]
    assert (option["part"]["id"], option["declared"], option["on_shelf"]) == (other.id, True, 4)
    assert option["past"]["sentence"] == "Nobody has used it in its place yet."
    sent = {"part_id": other.id, "job_id": job.id, "quantity": 2, "instead_of": asked.id, "differed": "5 mm longer"}
    done = as_tech.post(f"{API}/pulls", json=sent)
    assert done.status_code == 201
    (kept,) = as_tech.get(f"{API}/jobs/{job.id}/stand-ins").get_json()["items"]
    assert (kept["part"]["id"], kept["instead"]["id"], kept["kept"], kept["differed"]) == (
        asked.id, other.id, 2, "5 mm longer",
    )  # fmt: skip
    assert jobs.needs(job.id)[0].taken == 2
    undo(done.get_json()["entry"])
    assert as_tech.get(f"{API}/jobs/{job.id}/stand-ins").get_json()["items"] == []


def test_a_piece_is_taken_in_place_of_a_part_too(as_tech: ApiClient) -> None:
    asked, job, piece = a_part("fan", "fan"), a_job(), a_piece("C-07")
    answer = as_tech.post(f"{API}/pieces/{piece.id}/pull", json={"job_id": job.id, "instead_of": asked.id})
    assert answer.status_code == 201
    assert [one["part"]["id"] for one in as_tech.get(f"{API}/jobs/{job.id}/stand-ins").get_json()["items"]] == [
        asked.id
    ]


def test_instead_of_what_there_is_not_is_refused(as_tech: ApiClient) -> None:
    other, _, _ = stocked(4)
    sent = {"part_id": other.id, "job_id": a_job().id, "instead_of": 99_999}
    problem(as_tech.post(f"{API}/pulls", json=sent), 404)
    no_job = {"part_id": other.id, "reason": "trying", "instead_of": a_part().id}
    problem(as_tech.post(f"{API}/pulls", json=no_job), 409, "no_job")


def test_a_unit_models_parts_are_those_its_jobs_used(as_tech: ApiClient) -> None:
    part, bin_, _ = stocked(5)
    job = a_job()
    as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id, "job_id": job.id, "quantity": 2})
    (found,) = as_tech.get(f"{API}/unit-models/{job.unit_model_id}/parts").get_json()["items"]
    assert (found["part"]["id"], found["jobs"], found["usual"], found["on_shelf"], found["bin"]["id"]) == (
        part.id, 1, 2, 3, bin_.id,
    )  # fmt: skip
