"""Lots over REST: corrected, held, released, traced to jobs."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.movements import pull
from inventory.store.tables import Hold, Lot
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job, a_stocked_part
from tests.http_clients import ApiClient

ANY = {"If-Match": "*"}


def test_what_is_noted_of_one_is_corrected(as_tech: ApiClient) -> None:
    _, _, done = a_stocked_part(5)
    data = {"maker_lot": "M-77", "date_code": "2613", "best_before": "2031-03-31", "cost_minor": 450}
    answer = as_tech.patch(f"{API}/lots/{done.lot_ids[0]}", json=data, headers=ANY)
    assert answer.get_json() == {**answer.get_json(), **data}
    assert Lot.get_by_id(done.lot_ids[0]).maker_lot == "M-77"
    assert len(as_tech.get(f"{API}/lots?maker_lot=M-77").get_json()["items"]) == 1


@pytest.mark.parametrize(
    "sent",
    [
        {"quantity": 3}, {"cost_minor": -1}, {"cost_minor": "4.50"}, {"best_before": "31.3.2031"},
        {"best_before": "2031-02-30"}, {"best_before": "2031-03-31T00:00:00Z"}, {"maker_lot": 77},
    ],
)  # fmt: skip
def test_what_cannot_be_right_is_refused(sent: dict[str, Any], as_tech: ApiClient) -> None:
    _, _, done = a_stocked_part(5)
    before = as_tech.get(f"{API}/lots/{done.lot_ids[0]}").get_json()
    checked_problem(as_tech.patch(f"{API}/lots/{done.lot_ids[0]}", json=sent, headers=ANY), 422)
    assert as_tech.get(f"{API}/lots/{done.lot_ids[0]}").get_json() == before


def test_nobody_pulls_from_one_on_hold_until_the_owner_releases_it(as_tech: ApiClient, as_owner: ApiClient) -> None:
    _, _, done = a_stocked_part(5)
    address, taking = f"{API}/lots/{done.lot_ids[0]}", {"lot_id": done.lot_ids[0], "job_id": a_job().id}
    held = as_tech.post(f"{address}/hold", json={"reason": "cracked"})
    assert (held.status_code, held.get_json()["person"]) == (201, as_tech.person.shown_as)
    checked_problem(as_tech.post(f"{address}/hold", json={"reason": "again"}), 409, "on_hold")
    checked_problem(as_tech.post(f"{API}/pulls", json=taking), 409, "on_hold")
    assert len(as_tech.get(f"{API}/lots?on_hold=true").get_json()["items"]) == 1
    checked_problem(as_tech.post(f"{address}/release", json={}), 403, "role")
    released = as_owner.post(f"{address}/release", json={"outcome": "one bad reel"})
    assert (released.status_code, released.get_json()["outcome"]) == (200, "one bad reel")
    checked_problem(as_owner.post(f"{address}/release", json={}), 409, "not_on_hold")
    assert as_tech.post(f"{API}/pulls", json=taking).status_code == 201
    assert [one["reason"] for one in as_tech.get(f"{address}/holds").get_json()["items"]] == ["cracked"]
    assert Hold.get().ended is not None


def test_a_hold_says_why(as_tech: ApiClient) -> None:
    _, _, done = a_stocked_part(5)
    for sent in ({}, {"reason": ""}, {"reason": " "}, {"reason": "x" * 301}):
        checked_problem(as_tech.post(f"{API}/lots/{done.lot_ids[0]}/hold", json=sent), 422)
    assert not Hold.select().exists()


def test_the_jobs_that_have_some_of_it_are_listed(as_viewer: ApiClient) -> None:
    _, bin_, done = a_stocked_part(5)
    first, second = a_job(), a_job()
    for job, quantity in ((first, 2), (second, 1)):
        pull.pull(quantity, bin_id=bin_.id, job_id=job.id)
    items = as_viewer.get(f"{API}/lots/{done.lot_ids[0]}/jobs").get_json()["items"]
    assert [(one["job"]["id"], one["quantity"]) for one in items] == [(second.id, 1), (first.id, 2)]
