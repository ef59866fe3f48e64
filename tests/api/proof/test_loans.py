"""Loans over REST: a piece taken for a swap test, and what the unit did with it."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.store.tables import Loan, Piece
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_job
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece, prove_fan


def _taken(client: ApiClient, **more: Any) -> dict[str, Any]:
    piece = a_piece("C-07")
    prove_fan(piece.id)
    response = client.post(f"{API}/loans", json={"piece_id": piece.id, "job_id": a_job().id, **more})
    assert response.status_code == 201, response.text
    assert client.get(response.headers["Location"]).get_json() == response.get_json()["loan"]
    loan: dict[str, Any] = response.get_json()["loan"]
    return loan


def test_it_goes_out_once(as_tech: ApiClient) -> None:
    loan = _taken(as_tech, hours=4)
    assert (loan["standing"], loan["ended"], loan["taken_by"]) == ("proved", None, as_tech.person.shown_as)
    again = {"piece_id": loan["piece_id"], "job_id": a_job().id}
    checked_problem(as_tech.post(f"{API}/loans", json=again), 409, "piece_out")
    assert [one["id"] for one in as_tech.get(f"{API}/loans?open=true").get_json()["items"]] == [loan["id"]]
    assert as_tech.get(f"{API}/loans/overdue").get_json()["items"] == []


def test_it_comes_back_with_a_result(as_tech: ApiClient) -> None:
    loan = _taken(as_tech)
    other = a_bin(mixed=True).id
    data = {"result": "works with it", "bin_id": other}
    body = as_tech.post(f"{API}/loans/{loan['id']}/bring-back", json=data).get_json()
    assert (body["loan"]["result"], body["proof"]["passed"]) == ("works with it", True)
    assert Piece.get_by_id(loan["piece_id"]).bin_id == other
    checked_problem(as_tech.post(f"{API}/loans/{loan['id']}/bring-back", json=data), 409, "loan_ended")


def test_it_stays_fitted_and_the_result_is_taken_back(as_tech: ApiClient) -> None:
    loan = _taken(as_tech)
    address = f"{API}/loans/{loan['id']}"
    body = as_tech.post(f"{address}/leave-fitted", json={"result": "works with it"}).get_json()
    assert body["loan"]["stayed"]
    assert Piece.get_by_id(loan["piece_id"]).bin_id is None
    reopened = as_tech.post(f"{address}/reopen", json={"reason": "tapped wrongly"}).get_json()
    assert (reopened["ended"], reopened["result"]) == (None, "")
    assert Piece.get_by_id(loan["piece_id"]).bin_id == loan["bin_id"]


def test_one_taken_by_mistake_is_cancelled(as_tech: ApiClient) -> None:
    loan = _taken(as_tech)
    cancelled = as_tech.post(f"{API}/loans/{loan['id']}/cancel", json={"reason": "wrong label"}).get_json()
    assert cancelled["result"] == "cancelled"
    assert Loan.get_by_id(loan["id"]).ended is not None


@pytest.mark.parametrize("sent", [{}, {"result": "maybe"}, {"result": "still fails", "others_good": 2}])
def test_a_result_that_cannot_be_right_ends_nothing(sent: dict[str, Any], as_tech: ApiClient) -> None:
    loan = _taken(as_tech)
    checked_problem(as_tech.post(f"{API}/loans/{loan['id']}/bring-back", json=sent), 422)
    assert Loan.get_by_id(loan["id"]).ended is None


def test_it_is_not_lent_to_nobody(as_tech: ApiClient) -> None:
    piece = a_piece("C-07").id
    checked_problem(as_tech.post(f"{API}/loans", json={"piece_id": piece, "job_id": 999}), 404)
    checked_problem(as_tech.post(f"{API}/loans", json={"piece_id": 999, "job_id": a_job().id}), 404)
    checked_problem(as_tech.post(f"{API}/loans", json={"piece_id": piece, "job_id": a_job().id, "hours": 0}), 422)
    assert not Loan.select().exists()


def test_one_that_worked_and_came_back_stays_after_all_by_a_loan_of_its_own(as_tech: ApiClient) -> None:
    loan = _taken(as_tech)
    address = f"{API}/loans/{loan['id']}"
    checked_problem(as_tech.post(f"{address}/stay"), 409, "loan_open")
    as_tech.post(f"{address}/bring-back", json={"result": "works with it"})
    key = {"Idempotency-Key": "stays-1"}
    response = as_tech.post(f"{address}/stay", headers=key)
    assert (response.status_code, response.get_json()["loan"]["stayed"]) == (200, True)
    assert response.get_json()["loan"]["id"] != loan["id"]
    assert as_tech.post(f"{address}/stay", headers=key).get_json() == response.get_json()
    assert Piece.get_by_id(loan["piece_id"]).bin_id is None
    checked_problem(as_tech.post(f"{address}/stay"), 409)
    checked_problem(as_tech.post(f"{API}/loans/999/stay"), 404)


def test_one_that_still_failed_does_not_stay(as_tech: ApiClient) -> None:
    loan = _taken(as_tech)
    as_tech.post(f"{API}/loans/{loan['id']}/bring-back", json={"result": "still fails"})
    checked_problem(as_tech.post(f"{API}/loans/{loan['id']}/stay"), 409, "no_such_result")
