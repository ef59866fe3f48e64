"""Pieces over REST: where each is, how far it can be trusted, and its label."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.store.tables import Piece
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece, built_in_procedure_id, prove_fan

ANY = {"If-Match": "*"}


def test_it_is_read_with_its_place_and_standing(as_viewer: ApiClient) -> None:
    piece = a_piece("C-07")
    assert as_viewer.get(f"{API}/pieces/{piece.id}/standing").get_json()["word"] == "unproved"
    prove_fan(piece.id)
    body = as_viewer.get(f"{API}/pieces/{piece.id}/look").get_json()
    assert (body["piece"]["code"], body["where"]["state"], body["standing"]["word"]) == (
        piece.code,
        "in bin",
        "proved",
    )
    assert 0.5 < body["standing"]["p_good"] <= 1.0


def test_pieces_are_asked_for_by_standing_and_place(as_viewer: ApiClient) -> None:
    proved, unproved = a_piece("C-07"), a_piece("C-08")
    prove_fan(proved.id)
    for asked, found in (
        ("standing=proved", [proved.id]), ("standing=unproved", [unproved.id]), ("out=true", []),
        (f"part_id={proved.part_id}", [proved.id]), ("spare=false", []), ("gone=true", []),
    ):  # fmt: skip
        items = as_viewer.get(f"{API}/pieces?{asked}").get_json()["items"]
        assert [item["piece"]["id"] for item in items] == found, asked
    checked_problem(as_viewer.get(f"{API}/pieces?standing=fine"), 422)


def test_it_is_given_a_name_that_no_other_has(as_tech: ApiClient) -> None:
    first, second = a_piece("C-07"), a_piece("C-08")
    edited = as_tech.patch(f"{API}/pieces/{first.id}", json={"name": "C-70", "serial": "S1"}, headers=ANY)
    assert (edited.get_json()["name"], Piece.get_by_id(first.id).serial) == ("C-70", "S1")
    checked_problem(as_tech.patch(f"{API}/pieces/{second.id}", json={"name": "C-70"}, headers=ANY), 409, "taken")


@pytest.mark.parametrize("sent", [{"spare": "yes"}, {"name": "x" * 41}, {"bin_id": 1}, {"serial": 7}])
def test_an_edit_that_cannot_be_right_is_refused(sent: dict[str, Any], as_tech: ApiClient) -> None:
    piece = a_piece("C-07")
    checked_problem(as_tech.patch(f"{API}/pieces/{piece.id}", json=sent, headers=ANY), 422)
    assert Piece.get_by_id(piece.id).version == piece.version


def test_what_happened_to_it_and_what_may_prove_it_is_listed(as_viewer: ApiClient) -> None:
    piece = a_piece("C-07")
    prove_fan(piece.id)
    happened = as_viewer.get(f"{API}/pieces/{piece.id}/timeline").get_json()["items"]
    assert {one["what"] for one in happened} == {"movement", "proof"}
    procedures = as_viewer.get(f"{API}/pieces/{piece.id}/procedures").get_json()["items"]
    assert "Fan bench run" in {procedure["name"] for procedure in procedures}
    body = as_viewer.get(f"{API}/pieces/{piece.id}/procedures/{built_in_procedure_id('Fan bench run')}").get_json()
    assert all(one["name"] for one in body["checks"])


def test_spares_are_found_for_a_part_and_for_nothing_refused(as_viewer: ApiClient) -> None:
    piece = a_piece("C-07")
    body = as_viewer.get(f"{API}/spares?part_id={piece.part_id}").get_json()
    assert [(one["seen"]["piece"]["id"], one["free"]) for one in body["options"]] == [(piece.id, True)]
    checked_problem(as_viewer.get(f"{API}/spares"), 422)
    checked_problem(as_viewer.get(f"{API}/spares?job_id={a_job().id + 500}"), 404)
