"""Jobs over REST, with what they need, use and suspect."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.movements import pull
from inventory.store.tables import Job, Need, Suspect
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job, a_part, a_stocked_part
from tests.http_clients import ApiClient


def test_one_is_opened_and_read_again(as_tech: ApiClient) -> None:
    data = {"unit_model": "Corvid 7 moving head", "customer": "Dockside Hall", "promised": "2031-03-31"}
    response = as_tech.post(f"{API}/jobs", json=data)
    assert response.status_code == 201, response.text
    assert response.get_json() == {**response.get_json(), **data, "status": "open"}
    assert as_tech.get(response.headers["Location"]).get_json() == response.get_json()
    row = Job.get_by_id(response.get_json()["id"])
    assert (row.customer, row.code[0], row.unit_model.name) == ("Dockside Hall", "J", "Corvid 7 moving head")


@pytest.mark.parametrize(
    "sent",
    [
        {"number": ""}, {"number": 1042}, {"promised": "soon"}, {"promised": 7}, {"symptom": "x" * 301},
        {"status": "closed"}, {"customer": None},
    ],
)  # fmt: skip
def test_one_that_cannot_be_right_is_refused(sent: dict[str, Any], as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/jobs", json=sent), 422)
    assert not Job.select().exists()


def test_two_have_two_numbers(as_tech: ApiClient) -> None:
    assert as_tech.post(f"{API}/jobs", json={"number": "J-1"}).status_code == 201
    checked_problem(as_tech.post(f"{API}/jobs", json={"number": "J-1"}), 409, "taken")


def test_it_waits_goes_on_and_is_closed(as_tech: ApiClient) -> None:
    address = f"{API}/jobs/{a_job().id}"
    waiting = as_tech.post(f"{address}/wait", json={"what": "fan in the post"}).get_json()
    assert (waiting["status"], waiting["waiting_for"]) == ("waiting", "fan in the post")
    assert as_tech.post(f"{address}/reopen").get_json()["status"] == "open"
    closed = as_tech.post(f"{address}/close", json={"found": "dry joint"}).get_json()
    assert (closed["status"], closed["found"]) == ("closed", "dry joint")
    assert as_tech.get(f"{API}/jobs?status=not closed").get_json()["items"] == []
    assert len(as_tech.get(f"{API}/jobs?status=closed&find=dry").get_json()["items"]) == 1
    checked_problem(as_tech.post(f"{address}/wait", json={}), 422)


def test_what_it_needs_is_set_met_and_dropped(as_tech: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(9)
    job = a_job().id
    for quantity in (2, 5):
        need = as_tech.put(f"{API}/jobs/{job}/needs/{part.id}", json={"quantity": quantity}).get_json()
    as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id, "job_id": job, "quantity": 3})
    items = as_tech.get(f"{API}/jobs/{job}/needs").get_json()["items"]
    assert [(one["quantity"], one["taken"], one["missing"], one["on_shelf"]) for one in items] == [(5, 3, 2, 6)]
    assert as_tech.delete(f"{API}/needs/{need['id']}").status_code == 204
    assert Need.get_by_id(need["id"]).dropped
    for quantity in (0, -1, "2", 10**9 + 1):
        checked_problem(as_tech.put(f"{API}/jobs/{job}/needs/{part.id}", json={"quantity": quantity}), 422)
    checked_problem(as_tech.put(f"{API}/jobs/{job}/needs/999", json={"quantity": 1}), 404)


def test_what_it_used_is_told_with_its_cost(as_viewer: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(10, cost_minor=1000)
    job = a_job().id
    pull.pull(3, bin_id=bin_.id, job_id=job)
    items = as_viewer.get(f"{API}/jobs/{job}/used").get_json()["items"]
    assert [(one["quantity"], one["cost_minor"]) for one in items] == [(3, 300)]


def test_what_might_be_wrong_is_named_and_judged(as_tech: ApiClient) -> None:
    job = a_job().id
    address = f"{API}/jobs/{job}/suspects"
    responses = [as_tech.post(address, json={"name": "pan driver", "part_id": a_part().id}) for _ in range(2)]
    assert responses[0].get_json()["id"] == responses[1].get_json()["id"]
    verdict = f"{API}/suspects/{responses[0].get_json()['id']}/verdict"
    assert as_tech.put(verdict, json={"verdict": "bad"}).get_json()["verdict"] == "bad"
    assert Suspect.get().verdict == "bad"
    checked_problem(as_tech.put(verdict, json={"verdict": "ugly"}), 422)
    checked_problem(as_tech.post(address, json={"name": ""}), 422)
    checked_problem(as_tech.post(address, json={"name": "fan", "part_id": 999}), 404)
