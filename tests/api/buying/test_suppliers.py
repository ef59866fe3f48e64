"""Suppliers and offers over REST."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.buying import suppliers
from inventory.store.tables import Offer, Supplier
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_part
from tests.http_clients import ApiClient


def _offer(**more: Any) -> dict[str, Any]:
    supplier = suppliers.add_supplier(f"Supplier {Supplier.select().count()}")
    return {"part_id": a_part().id, "supplier_id": supplier.id, "price_minor": 120, **more}


def test_a_supplier_is_added_and_read_again(as_tech: ApiClient) -> None:
    data = {
        "name": "Northgate Components",
        "lead_days": 3,
        "shipping_minor": 495,
        "email": "orders@northgate.example",
    }
    response = as_tech.post(f"{API}/suppliers", json=data)
    assert response.status_code == 201, response.text
    assert as_tech.get(response.headers["Location"]).get_json() == response.get_json()
    row = Supplier.get_by_id(response.get_json()["id"])
    assert (row.name, row.lead_days, row.shipping_minor, row.email) == tuple(data.values())


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({}, "name"), ({"name": " "}, "name"), ({"name": "x", "lead_days": "3"}, "lead_days"),
        ({"name": "x", "lead_days": 1001}, "lead_days"), ({"name": "x", "email": "nobody"}, "email"),
        ({"name": "x", "active": True}, "active"),
    ],
)  # fmt: skip
def test_a_supplier_that_cannot_be_right_is_refused(sent: dict[str, Any], field: str, as_tech: ApiClient) -> None:
    assert field in checked_problem(as_tech.post(f"{API}/suppliers", json=sent), 422)["errors"]
    assert not Supplier.select().exists()


def test_two_suppliers_have_two_names(as_tech: ApiClient) -> None:
    assert as_tech.post(f"{API}/suppliers", json={"name": "Quayside Spares"}).status_code == 201
    checked_problem(as_tech.post(f"{API}/suppliers", json={"name": "Quayside Spares"}), 409, "taken")


def test_a_supplier_no_longer_bought_from_is_listed_apart(as_tech: ApiClient) -> None:
    response = as_tech.post(f"{API}/suppliers", json={"name": "Quayside Spares"})
    address, tag = response.headers["Location"], response.headers["ETag"]
    assert as_tech.patch(address, json={"active": False}, headers={"If-Match": tag}).status_code == 200
    assert as_tech.get(f"{API}/suppliers").get_json()["items"] == []
    assert len(as_tech.get(f"{API}/suppliers?active=false").get_json()["items"]) == 1
    checked_problem(as_tech.patch(address, json={"active": True}, headers={"If-Match": tag}), 412)


def test_an_offer_is_noted_and_edited(as_tech: ApiClient) -> None:
    data = _offer(pack=10, minimum=20, breaks=[[5, 110], [10, 95]], supplier_number="77-1042", preferred=True)
    response = as_tech.post(f"{API}/offers", json=data)
    assert response.status_code == 201, response.text
    assert response.get_json()["breaks"] == [[5, 110], [10, 95]]
    edited = as_tech.patch(
        response.headers["Location"], json={"price_minor": 130}, headers={"If-Match": response.headers["ETag"]}
    )
    assert edited.get_json() == {**response.get_json(), "price_minor": 130, "version": 2}
    assert Offer.get_by_id(response.get_json()["id"]).price_minor == 130
    items = as_tech.get(f"{API}/offers?supplier_number=77-1042&part_id={data['part_id']}").get_json()["items"]
    assert [one["id"] for one in items] == [response.get_json()["id"]]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"price_minor": "1.20"}, "price_minor"), ({"pack": 0}, "pack"), ({"breaks": [[5]]}, "breaks"),
        ({"breaks": [[5, 200]]}, "breaks"), ({"breaks": [[10, 90], [5, 80]]}, "breaks"), ({"breaks": "5"}, "breaks"),
    ],
)  # fmt: skip
def test_an_offer_that_cannot_be_right_is_refused(more: dict[str, Any], field: str, as_tech: ApiClient) -> None:
    assert field in checked_problem(as_tech.post(f"{API}/offers", json=_offer(**more)), 422)["errors"]


def test_an_offer_of_nobody_or_nothing_is_refused(as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/offers", json=_offer(part_id=999)), 404)
    checked_problem(as_tech.post(f"{API}/offers", json=_offer(supplier_id=999)), 404)
    assert not Offer.select().exists()
