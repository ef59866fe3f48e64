"""Proofs over REST: every reading judged, a mistake struck and never deleted."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.store.tables import Proof
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece, built_in_procedure_id, fan_readings


def _sent(**changed: str) -> dict[str, Any]:
    return {
        "procedure_id": built_in_procedure_id("Fan bench run"),
        "readings": fan_readings(**changed),
        "instrument": "meter 2",
    }


def test_a_test_that_passed_proves_the_piece(as_tech: ApiClient) -> None:
    piece = a_piece("C-07").id
    response = as_tech.post(f"{API}/pieces/{piece}/proofs", json=_sent())
    assert response.status_code == 201, response.text
    body = response.get_json()
    assert (body["before"]["word"], body["after"]["word"]) == ("unproved", "proved")
    assert as_tech.get(response.headers["Location"]).get_json() == body["proof"]
    assert Proof.get_by_id(body["proof"]["id"]).passed


def test_a_reading_outside_its_limits_fails_the_piece(as_tech: ApiClient) -> None:
    piece = a_piece("C-07").id
    body = as_tech.post(f"{API}/pieces/{piece}/proofs", json=_sent(Current="9.9")).get_json()
    assert (body["proof"]["passed"], body["after"]["word"]) == (False, "failed")
    assert [one["name"] for one in body["proof"]["readings"] if not one["passed"]] == ["Current"]


@pytest.mark.parametrize("readings", [[], [{}], [{"name": "Current", "value": "much", "unit": "A"}], "all fine"])
def test_what_is_no_reading_is_refused(readings: Any, as_tech: ApiClient) -> None:
    piece = a_piece("C-07").id
    data = {"procedure_id": built_in_procedure_id("Fan bench run"), "readings": readings}
    checked_problem(as_tech.post(f"{API}/pieces/{piece}/proofs", json=data), 422)
    assert not Proof.select().exists()


def test_it_ran_in_a_unit_is_noted_once(as_tech: ApiClient) -> None:
    piece, job = a_piece("C-07").id, a_job().id
    assert as_tech.post(f"{API}/pieces/{piece}/runs", json={"job_id": job}).status_code == 201
    checked_problem(as_tech.post(f"{API}/pieces/{piece}/runs", json={"job_id": job}), 409, "noted_already")
    checked_problem(as_tech.post(f"{API}/pieces/{piece}/runs", json={"job_id": 999}), 404)
    assert Proof.select().count() == 1


def test_one_logged_by_mistake_is_struck_and_stays(as_tech: ApiClient) -> None:
    piece = a_piece("C-07").id
    proof = as_tech.post(f"{API}/pieces/{piece}/proofs", json=_sent()).get_json()["proof"]["id"]
    checked_problem(as_tech.post(f"{API}/proofs/{proof}/strike", json={}), 422)
    struck = as_tech.post(f"{API}/proofs/{proof}/strike", json={"reason": "wrong fan"}).get_json()
    assert (struck["struck_reason"], struck["struck"] is not None) == ("wrong fan", True)
    assert as_tech.get(f"{API}/pieces/{piece}/standing").get_json()["word"] == "unproved"
    assert len(as_tech.get(f"{API}/proofs?piece_id={piece}&passed=true").get_json()["items"]) == 1
