"""Parts over REST, with what they fit, what stands in for them, and the words that describe them."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.store.tables import Part, Substitute
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_part, a_stocked_part
from tests.http_clients import ApiClient

HEADER = {
    "number": "CN-0412", "name": "4-way 2.0 mm header", "kind": "connector", "maker": "Anvil",
    "attributes": {"pitch_mm": 2, "ways": 4, "gender": "header"}, "fits": ["Corvid 7 moving head"], "level": 6,
}  # fmt: skip


def test_it_is_added_and_read_again(as_tech: ApiClient) -> None:
    response = as_tech.post(f"{API}/parts", json=HEADER)
    assert response.status_code == 201, response.text
    assert as_tech.get(response.headers["Location"]).get_json() == response.get_json()
    row = Part.get_by_id(response.get_json()["id"])
    assert (row.number, row.level, row.attributes) == ("CN-0412", 6, HEADER["attributes"])
    fits = as_tech.get(f"{response.headers['Location']}/fits").get_json()["items"]
    assert [fit["name"] for fit in fits] == ["Corvid 7 moving head"]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"kind": "spoon"}, "kind"), ({"kept": "somehow"}, "kept"), ({"unit": "stone"}, "unit"),
        ({"attributes": {"ways": "four"}}, "ways"), ({"attributes": {"colour": "red"}}, "colour"),
        ({"attributes": {"ways": [4]}}, "attributes"), ({"attributes": "4 ways"}, "attributes"),
        ({"hazards": ["dragons"]}, "hazards"), ({"level": -1}, "level"), ({"level": "6"}, "level"),
        ({"target": 1}, "target"), ({"fits": [""]}, "fits"), ({"kept": "individually", "unit": "ml"}, "unit"),
    ],
)  # fmt: skip
def test_one_that_cannot_be_right_is_refused(wrong: dict[str, Any], field: str, as_tech: ApiClient) -> None:
    assert field in checked_problem(as_tech.post(f"{API}/parts", json={**HEADER, **wrong}), 422)["errors"]
    assert not Part.select().exists()


def test_two_have_two_numbers(as_tech: ApiClient) -> None:
    assert as_tech.post(f"{API}/parts", json=HEADER).status_code == 201
    checked_problem(as_tech.post(f"{API}/parts", json=HEADER), 409, "taken")


def test_it_is_found_by_words_kind_and_what_it_fits(as_tech: ApiClient) -> None:
    model = as_tech.post(f"{API}/unit-models", json={"name": "Corvid 7 moving head"}).get_json()["id"]
    as_tech.post(f"{API}/parts", json=HEADER)
    a_part("24 V fan", "fan")
    for asked, found in (("find=anvil 4-way", 1), ("kind=fan", 1), (f"fits={model}", 1), ("find=spoon", 0), ("", 2)):
        assert len(as_tech.get(f"{API}/parts?{asked}").get_json()["items"]) == found, asked


def test_one_retired_is_listed_apart(as_tech: ApiClient) -> None:
    response = as_tech.post(f"{API}/parts", json=HEADER)
    as_tech.patch(response.headers["Location"], json={"retired": True}, headers={"If-Match": "*"})
    assert as_tech.get(f"{API}/parts").get_json()["items"] == []
    assert len(as_tech.get(f"{API}/parts?retired=true").get_json()["items"]) == 1


def test_its_unit_stays_once_it_has_moved(as_tech: ApiClient) -> None:
    part, _, _ = a_stocked_part(3)
    answer = as_tech.patch(f"{API}/parts/{part.id}", json={"unit": "mm"}, headers={"If-Match": "*"})
    checked_problem(answer, 409)
    assert Part.get_by_id(part.id).unit == "piece"


def test_its_stock_is_told(as_viewer: ApiClient) -> None:
    part, _, _ = a_stocked_part(3)
    body = as_viewer.get(f"{API}/parts/{part.id}/stock").get_json()
    assert (body["on_shelf"], body["position"], body["promised"]) == (3, 3, 0)


def test_what_stands_in_for_it_is_noted_and_dropped(as_tech: ApiClient) -> None:
    part, other = a_part(), a_part("5-way header")
    address = f"{API}/parts/{part.id}/substitutes"
    for differs in ("", "cut one way off"):
        assert as_tech.put(f"{address}/{other.id}", json={"differs": differs}).status_code == 204
    items = as_tech.get(address).get_json()["items"]
    assert [(one["part"]["id"], one["differs"]) for one in items] == [(other.id, "cut one way off")]
    checked_problem(as_tech.put(f"{address}/{part.id}", json={}), 422)
    checked_problem(as_tech.put(f"{address}/999", json={}), 404)
    assert as_tech.delete(f"{address}/{other.id}").status_code == 204
    assert not Substitute.select().exists()


def test_the_words_that_describe_it_are_listed(as_viewer: ApiClient) -> None:
    kinds = {one["kind"]: one for one in as_viewer.get(f"{API}/kinds").get_json()["items"]}
    assert {kind["key"] for kind in kinds["fan"]["attributes"]} >= {"size_mm", "volts", "amps", "wires"}
    hazards = as_viewer.get(f"{API}/hazards").get_json()["items"]
    assert hazards[0]["key"] == "mains"
    assert all(hazard["caution"] for hazard in hazards)
