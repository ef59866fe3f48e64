"""/parts/.../substitute-options, pulls with instead_of, /jobs/.../substitutions and /unit-models/.../parts."""

from __future__ import annotations

from inventory.domain.catalogue import parts
from inventory.domain.jobs import jobs
from inventory.domain.movements.undo import undo
from tests.api.problem_details import checked_problem
from tests.factories import a_job, a_part, a_stocked_part
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece

API = "/api/v1"


def test_a_program_asks_what_fits_and_takes_it(as_tech: ApiClient) -> None:
    part, job = a_part("latched header"), a_job()
    other, _, _ = a_stocked_part(4)
    parts.set_substitute(part.id, other.id, "5 mm longer")
    jobs.set_need(job.id, part.id, 2)
    body = as_tech.get(f"{API}/parts/{part.id}/substitute-options").get_json()
    (option,) = body["options"]
    assert (option["part"]["id"], option["declared"], option["on_shelf"]) == (other.id, True, 4)
    assert option["past"]["sentence"] == "Nobody has used it in its place yet."
    data = {"part_id": other.id, "job_id": job.id, "quantity": 2, "instead_of": part.id, "differed": "5 mm longer"}
    done = as_tech.post(f"{API}/pulls", json=data)
    assert done.status_code == 201
    (substitute,) = as_tech.get(f"{API}/jobs/{job.id}/substitutions").get_json()["items"]
    assert (substitute["part"]["id"], substitute["instead"]["id"], substitute["kept"], substitute["differed"]) == (
        part.id, other.id, 2, "5 mm longer",
    )  # fmt: skip
    assert jobs.needs(job.id)[0].taken == 2
    undo(done.get_json()["entry"])
    assert as_tech.get(f"{API}/jobs/{job.id}/substitutions").get_json()["items"] == []


def test_a_piece_is_taken_in_place_of_a_part_too(as_tech: ApiClient) -> None:
    part, job, piece = a_part("fan", "fan"), a_job(), a_piece("C-07")
    answer = as_tech.post(f"{API}/pieces/{piece.id}/pull", json={"job_id": job.id, "instead_of": part.id})
    assert answer.status_code == 201
    assert [one["part"]["id"] for one in as_tech.get(f"{API}/jobs/{job.id}/substitutions").get_json()["items"]] == [
        part.id
    ]


def test_instead_of_what_there_is_not_is_refused(as_tech: ApiClient) -> None:
    other, _, _ = a_stocked_part(4)
    data = {"part_id": other.id, "job_id": a_job().id, "instead_of": 99_999}
    checked_problem(as_tech.post(f"{API}/pulls", json=data), 404)
    no_job = {"part_id": other.id, "reason": "trying", "instead_of": a_part().id}
    checked_problem(as_tech.post(f"{API}/pulls", json=no_job), 409, "no_job")


def test_a_unit_models_parts_are_those_its_jobs_used(as_tech: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    job = a_job()
    as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id, "job_id": job.id, "quantity": 2})
    (item,) = as_tech.get(f"{API}/unit-models/{job.unit_model_id}/parts").get_json()["items"]
    assert (item["part"]["id"], item["jobs"], item["usual"], item["on_shelf"], item["bin"]["id"]) == (
        part.id, 1, 2, 3, bin_.id,
    )  # fmt: skip
