"""What a customer is told, over REST."""

from __future__ import annotations

from inventory.domain.jobs import jobs
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job, a_part
from tests.http_clients import ApiClient


def test_it_is_drafted_given_once_listed_and_answered(as_tech: ApiClient) -> None:
    job, part = a_job(), a_part("Odd lamp", "other")
    jobs.set_need(job.id, part.id, 1)
    begun = as_tech.get(f"{API}/jobs/{job.id}/notice-draft").get_json()
    assert (begun["lines"][0]["words"], begun["lines"][0]["price_minor"]) == ("1 piece of Odd lamp", None)
    data = {"found": "The lamp is dead.", "lines": [{"words": "A lamp", "price_minor": 900}], "work_minor": 1600}
    key = {"Idempotency-Key": "the dead lamp"}
    first, again = (as_tech.post(f"{API}/jobs/{job.id}/notices", json=data, headers=key) for _ in range(2))
    assert (first.status_code, first.get_json()) == (201, again.get_json())
    body = as_tech.get(first.headers["Location"]).get_json()
    assert (body["total_minor"], body["answer"], body["person"]) == (2500, "", as_tech.person.shown_as)
    assert "Together: 25.00 EUR" in body["text"]
    answered = as_tech.post(f"{API}/notices/{body['id']}/answer", json={"answer": "declined"}).get_json()
    assert (answered["answer"], answered["answered_by"]) == ("declined", as_tech.person.shown_as)
    assert jobs.needs(job.id)[0].dropped
    assert [one["id"] for one in as_tech.get(f"{API}/jobs/{job.id}/notices").get_json()["items"]] == [body["id"]]


def test_what_cannot_be_is_refused_by_field(as_tech: ApiClient, as_viewer: ApiClient) -> None:
    job = a_job()
    address = f"{API}/jobs/{job.id}/notices"
    assert list(checked_problem(as_tech.post(address, json={}), 422)["errors"]) == ["found"]
    data = {"found": "Worn.", "lines": [{"words": "A lamp", "price_minor": -1}]}
    assert "lines" in checked_problem(as_tech.post(address, json=data), 422)["errors"]
    assert checked_problem(as_viewer.post(address, json={"found": "Worn."}), 403)["reason"] == "role"
    first, _ = (as_tech.post(address, json={"found": "Worn."}).get_json() for _ in range(2))
    refused = as_tech.post(f"{API}/notices/{first['id']}/answer", json={"answer": "agreed"})
    assert checked_problem(refused, 409)["reason"] == "not_newest"
    assert "answer" in checked_problem(as_tech.post(f"{API}/notices/{first['id']}/answer", json={}), 422)["errors"]
