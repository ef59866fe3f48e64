"""Orders over REST: drafted, changed, placed, received in parcels, cancelled."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.buying import suppliers
from inventory.store.tables import Order, OrderLine
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import ApiClient


@pytest.fixture
def offered(as_tech: ApiClient) -> dict[str, Any]:
    """A part, with a bin of its own, that a supplier sells in packs of ten."""
    part, supplier = a_part(), suppliers.add_supplier("Northgate Components", lead_days=3, shipping_minor=495)
    suppliers.add_offer(part.id, supplier.id, 250, pack=10, supplier_number="NC-1")
    return {"part": part.id, "bin": a_bin(part).id, "supplier": supplier.id}


def _draft(client: ApiClient, offered: dict[str, Any], quantity: int = 20) -> dict[str, Any]:
    lines = [{"part_id": offered["part"], "quantity": quantity}]
    response = client.post(f"{API}/orders", json={"supplier_id": offered["supplier"], "lines": lines})
    assert response.status_code == 201, response.text
    assert client.get(response.headers["Location"]).get_json() == response.get_json()
    told: dict[str, Any] = response.get_json()
    return told


def test_an_order_is_drafted_at_the_offers_price(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    order = _draft(as_tech, offered)
    assert (order["status"], order["goods_minor"], order["total_minor"]) == ("draft", 500, 995)
    assert order["person"] == as_tech.person.shown_as
    line = OrderLine.get(OrderLine.order == order["id"])
    assert (line.quantity, line.cost_minor, line.received) == (20, 500, 0)


def test_a_draft_is_changed_line_by_line(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    order = _draft(as_tech, offered)
    line = order["lines"][0]["id"]
    other = as_tech.post(f"{API}/orders/{order['id']}/lines", json={"part_id": a_part().id, "quantity": 3})
    assert (other.status_code, len(other.get_json()["lines"])) == (201, 2)
    address = f"{API}/order-lines/{line}"
    read = {"If-Match": as_tech.get(f"{API}/orders/{order['id']}").headers["ETag"]}
    answer = as_tech.put(address, json={"quantity": 40}, headers=read)
    more = answer.get_json()
    assert (more["lines"][0]["quantity"], more["lines"][0]["cost_minor"]) == (40, 1000)
    checked_problem(as_tech.delete(address, headers=read), 412, "stale")
    gone = as_tech.delete(address, headers={"If-Match": answer.headers["ETag"]}).get_json()
    assert [one["id"] for one in gone["lines"]] == [other.get_json()["lines"][1]["id"]]
    assert not OrderLine.select().where(OrderLine.id == line).exists()


def test_a_line_is_not_changed_without_saying_what_was_read(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    address = f"{API}/order-lines/{_draft(as_tech, offered)['lines'][0]['id']}"
    checked_problem(as_tech.put(address, json={"quantity": 40}), 428, "if_match_missing")
    checked_problem(as_tech.delete(address), 428, "if_match_missing")
    checked_problem(as_tech.put(f"{API}/order-lines/999", json={"quantity": 40}, headers={"If-Match": "*"}), 404)
    assert as_tech.delete(address, headers={"If-Match": "*"}).status_code == 200


def test_it_is_placed_received_and_done(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    order = _draft(as_tech, offered)
    placed = as_tech.post(f"{API}/orders/{order['id']}/place", json={"reference": "SO-9"}).get_json()
    assert (placed["status"], placed["reference"]) == ("placed", "SO-9")
    expected = as_tech.get(f"{API}/parts/{offered['part']}/expected").get_json()["items"]
    assert [one["outstanding"] for one in expected] == [20]
    line = placed["lines"][0]["id"]
    for quantity, status in ((5, "placed"), (15, "received")):
        data = {"part_id": offered["part"], "quantity": quantity, "bin_id": offered["bin"], "order_line_id": line}
        assert as_tech.post(f"{API}/receipts", json=data).status_code == 201
        assert as_tech.get(f"{API}/orders/{order['id']}").get_json()["status"] == status
    came = as_tech.get(f"{API}/orders/{order['id']}/deliveries").get_json()["items"]
    assert [one["quantity"] for one in came] == [5, 15]
    checked_problem(as_tech.post(f"{API}/orders/{order['id']}/cancel"), 409, "order_not_open")


def test_it_is_cancelled_while_nothing_came(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    order = _draft(as_tech, offered)
    assert as_tech.post(f"{API}/orders/{order['id']}/cancel").get_json()["status"] == "cancelled"
    assert Order.get_by_id(order["id"]).status == "cancelled"
    assert as_tech.get(f"{API}/orders?status=draft").get_json()["items"] == []
    assert len(as_tech.get(f"{API}/orders?part_id={offered['part']}").get_json()["items"]) == 1


def test_what_is_noted_of_it_is_edited(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    order = _draft(as_tech, offered)
    address = f"{API}/orders/{order['id']}"
    tag = as_tech.get(address).headers["ETag"]
    edited = as_tech.patch(address, json={"note": "ring first", "expected": "2031-03-31"}, headers={"If-Match": tag})
    assert (edited.get_json()["note"], edited.get_json()["expected"]) == ("ring first", "2031-03-31")
    checked_problem(as_tech.patch(address, json={"note": "x"}, headers={"If-Match": tag}), 412, "stale")


@pytest.mark.parametrize(
    ("line", "status"),
    [
        ({"quantity": 15}, 422), ({"quantity": 0}, 422), ({"quantity": "20"}, 422), ({}, 422),
        ({"quantity": 20, "part_id": 999}, 404), ({"quantity": 20, "offer_id": 999}, 404),
        ({"quantity": 20, "job_id": 999}, 404),
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_right_orders_nothing(
    line: dict[str, Any], status: int, as_tech: ApiClient, offered: dict[str, Any]
) -> None:
    lines = [{"part_id": offered["part"], **line}]
    checked_problem(as_tech.post(f"{API}/orders", json={"supplier_id": offered["supplier"], "lines": lines}), status)
    assert not Order.select().exists()


def test_it_refuses_what_is_past_changing(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    order = _draft(as_tech, offered)
    address = f"{API}/orders/{order['id']}"
    assert as_tech.post(f"{address}/place", json={}).status_code == 200
    checked_problem(as_tech.post(f"{address}/place", json={}), 409, "not_a_draft")
    checked_problem(
        as_tech.post(f"{address}/lines", json={"part_id": a_part().id, "quantity": 1}), 409, "not_a_draft"
    )
    checked_problem(
        as_tech.put(f"{API}/order-lines/{order['lines'][0]['id']}", json={"quantity": 30}, headers={"If-Match": "*"}),
        409,
        "not_a_draft",
    )
    checked_problem(as_tech.post(f"{API}/orders", json={"supplier_id": 999}), 404)


def test_a_part_is_ordered_for_a_job(as_tech: ApiClient, offered: dict[str, Any]) -> None:
    job = a_job()
    line = {"part_id": offered["part"], "quantity": 10, "job_id": job.id}
    body = as_tech.post(f"{API}/orders", json={"supplier_id": offered["supplier"], "lines": [line]}).get_json()
    assert body["lines"][0]["job_number"] == job.number
