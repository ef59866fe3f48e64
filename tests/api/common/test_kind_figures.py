"""REST of what is assumed of each kind of part."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.common import kind_figures
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.http_clients import ApiClient

ANY = {"If-Match": "*"}


def test_everybody_reads_them_and_the_owner_changes_them(as_owner: ApiClient, as_tech: ApiClient) -> None:
    listed = as_tech.get(f"{API}/kind-figures").get_json()["items"]
    read = as_owner.get(f"{API}/kind-figures/fan")
    assert read.get_json() in listed
    data = {"proof_months": 6, "cap": 0.98}
    edited = as_owner.patch(f"{API}/kind-figures/fan", json=data, headers={"If-Match": read.headers["ETag"]})
    assert (edited.status_code, edited.get_json()["changed"]) == (200, ["proof_months", "cap"])
    assert kind_figures.get_kind_figures("fan").proof_months == 6
    checked_problem(
        as_owner.patch(f"{API}/kind-figures/fan", json=data, headers={"If-Match": read.headers["ETag"]}), 412
    )
    back = as_owner.patch(f"{API}/kind-figures/fan", json=dict.fromkeys(data), headers=ANY)
    assert back.get_json() == read.get_json()


@pytest.mark.parametrize(
    "sent",
    [{}, {"cap": 1.5}, {"cap": "0.9"}, {"proof_months": 0}, {"proof_months": 1.5}, {"colour": 1}, {"beta_a": 0}],
)
def test_what_cannot_be_changes_nothing(sent: dict[str, Any], as_owner: ApiClient) -> None:
    checked_problem(as_owner.patch(f"{API}/kind-figures/fan", json=sent, headers=ANY), 422)
    assert kind_figures.get_kind_figures("fan").changed == ()


def test_a_tech_changes_nothing_and_no_other_kind_is_there(as_tech: ApiClient, as_owner: ApiClient) -> None:
    checked_problem(as_tech.patch(f"{API}/kind-figures/fan", json={"cap": 0.9}, headers=ANY), 403)
    checked_problem(as_owner.get(f"{API}/kind-figures/spoon"), 404)
    checked_problem(as_owner.patch(f"{API}/kind-figures/spoon", json={"cap": 0.9}, headers=ANY), 404)
