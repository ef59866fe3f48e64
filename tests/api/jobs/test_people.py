"""People, the one who is asking, and tokens over REST."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.jobs import jobs, people
from inventory.store.tables import Person, Token
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job
from tests.http_clients import ApiClient

INES = {"name": "ines", "role": "tech", "passphrase": "seven dry joints"}


def test_the_owner_lets_somebody_in(as_owner: ApiClient) -> None:
    response = as_owner.post(f"{API}/people", json={**INES, "shown_as": "Ines"})
    assert response.status_code == 201, response.text
    assert as_owner.get(response.headers["Location"]).get_json() == response.get_json()
    assert "passphrase" not in response.text
    assert people.sign_in("ines", INES["passphrase"], "here")[0].shown_as == "Ines"


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"passphrase": "short"}, "passphrase"), ({"passphrase": 1234567890}, "passphrase"),
        ({"role": "king"}, "role"), ({"name": "a b"}, "name"), ({"name": ""}, "name"),
    ],
)  # fmt: skip
def test_somebody_who_cannot_be_right_stays_out(wrong: dict[str, Any], field: str, as_owner: ApiClient) -> None:
    problem = checked_problem(as_owner.post(f"{API}/people", json={**INES, **wrong}), 422)
    assert field in problem["errors"]
    assert Person.select().count() == 1


def test_two_sign_in_by_two_names(as_owner: ApiClient) -> None:
    assert as_owner.post(f"{API}/people", json=INES).status_code == 201
    checked_problem(as_owner.post(f"{API}/people", json=INES), 409, "taken")


def test_a_new_passphrase_ends_the_old_one(as_owner: ApiClient) -> None:
    who = as_owner.post(f"{API}/people", json=INES).headers["Location"]
    assert as_owner.put(f"{who}/passphrase", json={"passphrase": "eleven dry joints"}).status_code == 204
    assert people.sign_in("ines", "eleven dry joints", "here")
    mark = Person.get(Person.name == "ines").session_mark
    assert as_owner.post(f"{who}/sign-out").status_code == 204
    assert Person.get(Person.name == "ines").session_mark == mark + 1


def test_the_last_owner_stays_one(as_owner: ApiClient) -> None:
    address = f"{API}/people/{as_owner.person.id}"
    checked_problem(as_owner.patch(address, json={"role": "tech"}, headers={"If-Match": "*"}), 409, "last_owner")
    assert Person.get_by_id(as_owner.person.id).role == "owner"


def test_it_says_who_is_asking_and_takes_a_job_in_hand(as_tech: ApiClient) -> None:
    job = a_job().id
    assert as_tech.get(f"{API}/me").get_json()["name"] == as_tech.person.name
    assert as_tech.put(f"{API}/me/job-in-hand", json={"job_id": job}).get_json()["job_in_hand_id"] == job
    assert as_tech.get(f"{API}/me").get_json()["job_in_hand_id"] == job
    assert as_tech.put(f"{API}/me/job-in-hand", json={"job_id": None}).get_json()["job_in_hand_id"] is None
    jobs.close_job(job)
    checked_problem(as_tech.put(f"{API}/me/job-in-hand", json={"job_id": job}), 409, "job_closed")
    checked_problem(as_tech.put(f"{API}/me/job-in-hand", json={"job_id": 999}), 404)
    checked_problem(as_tech.put(f"{API}/me/job-in-hand", json={}), 422)


def test_a_token_is_made_used_listed_and_ended(as_owner: ApiClient) -> None:
    body = as_owner.post(f"{API}/tokens", json={"person_id": as_owner.person.id, "label": "clock"}).get_json()
    assert "secret" not in as_owner.get(f"{API}/tokens").text
    assert body["secret"] not in str(list(Token.select().dicts()))
    assert as_owner.delete(f"{API}/tokens/{body['id']}").status_code == 204
    assert Token.get_by_id(body["id"]).revoked is not None
    checked_problem(as_owner.post(f"{API}/tokens", json={"person_id": 999, "label": "clock"}), 404)
    checked_problem(as_owner.post(f"{API}/tokens", json={"person_id": as_owner.person.id, "label": ""}), 422)
    checked_problem(as_owner.delete(f"{API}/tokens/999"), 404)
