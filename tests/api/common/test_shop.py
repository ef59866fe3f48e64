"""The shop's decisions over REST: the owner's to change, everybody's to read."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.common import shop
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.http_clients import ApiClient

ANY = {"If-Match": "*"}


def test_the_owner_changes_some_and_puts_one_back(as_owner: ApiClient) -> None:
    read = as_owner.get(f"{API}/shop")
    data = {"target": 0.9, "promises": {"fan": "next_job"}, "looks_days": 7}
    edited = as_owner.patch(f"{API}/shop", json=data, headers={"If-Match": read.headers["ETag"]})
    assert edited.get_json() == {**read.get_json(), **data}
    assert (shop.shop_config().target, shop.shop_config().promises) == (0.9, {"fan": "next_job"})
    checked_problem(as_owner.patch(f"{API}/shop", json=data, headers={"If-Match": read.headers["ETag"]}), 412)
    back = as_owner.patch(f"{API}/shop", json={"target": None}, headers=ANY).get_json()
    assert back["target"] == read.get_json()["target"]


@pytest.mark.parametrize(
    "sent",
    [
        {}, {"target": "0.9"}, {"target": 1.0}, {"looks_days": 1.5}, {"promise": "whatever"},
        {"promises": {"spoon": "next_job"}}, {"targets": {"fan": 2}}, {"targets": {"fan": "much"}}, {"colour": 1},
    ],
)  # fmt: skip
def test_a_decision_that_cannot_be_right_changes_nothing(sent: dict[str, Any], as_owner: ApiClient) -> None:
    before = as_owner.get(f"{API}/shop").get_json()
    checked_problem(as_owner.patch(f"{API}/shop", json=sent, headers=ANY), 422)
    assert as_owner.get(f"{API}/shop").get_json() == before


def test_a_tech_reads_and_does_not_decide(as_tech: ApiClient) -> None:
    assert as_tech.get(f"{API}/shop").status_code == 200
    checked_problem(as_tech.patch(f"{API}/shop", json={"target": 0.9}, headers=ANY), 403, "role")
    checked_problem(as_tech.patch(f"{API}/shop", json={"target": 0.9}), 403)
