"""Bins over REST, and what is in them."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.store.tables import Bin
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_part, a_stocked_part
from tests.http_clients import ApiClient


def test_one_is_added_and_read_again(as_tech: ApiClient) -> None:
    part = a_part().id
    response = as_tech.post(f"{API}/bins", json={"name": "A-03", "part_id": part, "walk": 3})
    assert response.status_code == 201, response.text
    assert as_tech.get(response.headers["Location"]).get_json() == response.get_json()
    row = Bin.get_by_id(response.get_json()["id"])
    assert (row.name, row.part_id, row.walk, row.code[0]) == ("A-03", part, 3, "B")


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ({}, 422), ({"name": ""}, 422), ({"name": "x" * 61}, 422), ({"name": "A", "walk": -1}, 422),
        ({"name": "A", "walk": "3"}, 422), ({"name": "A", "part_id": 999}, 404), ({"name": "A", "mixed": "yes"}, 422),
        ({"name": "A", "part_id": 0}, 422), ({"name": "A", "part_id": 2**31}, 422),
    ],
)  # fmt: skip
def test_one_that_cannot_be_right_is_refused(sent: dict[str, Any], status: int, as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/bins", json=sent), status)
    assert not Bin.select().exists()


def test_two_have_two_names(as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/bins", json={"name": a_bin().name}), 409, "taken")


def test_labels_come_before_there_is_anything_to_label(as_tech: ApiClient) -> None:
    items = as_tech.post(f"{API}/bins/blank", json={"number": 3}).get_json()["items"]
    assert [one["name"] for one in items] == [None] * 3
    blank = as_tech.get(f"{API}/bins?named=false").get_json()["items"]
    assert [one["code"] for one in blank] == [one["code"] for one in items]
    address = f"{API}/bins/{items[1]['id']}"
    named = as_tech.patch(address, json={"name": "B-11"}, headers={"If-Match": "*"}).get_json()
    assert (named["name"], named["code"]) == ("B-11", items[1]["code"])
    for number in (0, 501, "3"):
        checked_problem(as_tech.post(f"{API}/bins/blank", json={"number": number}), 422)


def test_one_is_retired_when_it_is_empty(as_tech: ApiClient) -> None:
    _, full, _ = a_stocked_part(2)
    empty = a_bin()
    checked_problem(
        as_tech.patch(f"{API}/bins/{full.id}", json={"retired": True}, headers={"If-Match": "*"}), 409, "not_empty"
    )
    assert (
        as_tech.patch(f"{API}/bins/{empty.id}", json={"retired": True}, headers={"If-Match": "*"}).status_code == 200
    )
    assert [one["id"] for one in as_tech.get(f"{API}/bins").get_json()["items"]] == [full.id]
    assert [one["id"] for one in as_tech.get(f"{API}/bins?retired=true").get_json()["items"]] == [empty.id]


def test_what_is_in_it_is_told_by_lot(as_viewer: ApiClient) -> None:
    part, bin_, done = a_stocked_part(4)
    a_stocked_part(9)
    for asked in (f"bin_id={bin_.id}", f"part_id={part.id}", f"lot_id={done.lot_ids[0]}"):
        items = as_viewer.get(f"{API}/holdings?{asked}").get_json()["items"]
        assert [(one["bin"]["id"], one["lot"]["id"], one["quantity"]) for one in items] == [
            (bin_.id, done.lot_ids[0], 4)
        ]
