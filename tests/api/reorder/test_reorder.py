"""The reorder list over REST: what to order now, and everything it was worked out from."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.movements import pull
from inventory.store.tables import Order
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job, a_stocked_part
from tests.http_clients import ApiClient


@pytest.fixture
def used_up() -> dict[str, int]:
    """A part that jobs have just used up, and who sells it."""
    part, bin_, _ = a_stocked_part(6, cost_minor=600)
    for _ in range(3):
        pull.pull(2, bin_id=bin_.id, job_id=a_job().id)
    supplier = suppliers.add_supplier("Northgate Components", lead_days=5)
    suppliers.add_offer(part.id, supplier.id, 90)
    return {"part": part.id, "supplier": supplier.id}


def _advice(client: ApiClient, asked: str = "") -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get(f"{API}/reorder{asked}").get_json()["items"]
    return found


def test_it_lists_what_to_order_and_why(as_viewer: ApiClient, used_up: dict[str, int]) -> None:
    first = _advice(as_viewer)[0]
    assert (first["part"]["id"], first["position"], first["stock"]["on_shelf"]) == (used_up["part"], 0, 0)
    assert first["reorder_point"] == first["level"] - 1
    assert first["order"]["quantity"] >= first["level"]
    assert first["order"]["cost_minor"] == 90 * first["order"]["packs"]
    assert 0.0 < first["risk"] <= 1.0
    assert first["why"]


def test_it_is_asked_by_supplier_and_kind(as_viewer: ApiClient, used_up: dict[str, int]) -> None:
    assert len(_advice(as_viewer, f"?supplier_id={used_up['supplier']}&kind=connector")) == 1
    assert _advice(as_viewer, "?kind=fan") == []
    assert _advice(as_viewer, "?supplier_id=999") == []
    checked_problem(as_viewer.get(f"{API}/reorder?kind=spoon"), 422)


def test_the_reckoning_tells_the_same_with_every_figure(as_viewer: ApiClient, used_up: dict[str, int]) -> None:
    body = as_viewer.get(f"{API}/parts/{used_up['part']}/reckoning").get_json()
    assert body["advice"]["level"] == _advice(as_viewer)[0]["level"]
    assert sum(body["reckoned"]["pieces"]) == pytest.approx(1.0, abs=1e-3)
    assert [one["quantity"] for one in body["uses"]] == [2, 2, 2]
    assert [one["chosen"] for one in body["choices"]] == [True]


def test_what_is_suggested_is_drafted(as_tech: ApiClient, used_up: dict[str, int]) -> None:
    suggested = as_tech.get(f"{API}/reorder/orders").get_json()["items"]
    assert [one["supplier_id"] for one in suggested] == [used_up["supplier"]]
    response = as_tech.post(f"{API}/reorder/orders", json={"supplier_id": used_up["supplier"]})
    assert response.status_code == 201, response.text
    order = Order.get_by_id(response.get_json()["id"])
    assert (order.status, response.get_json()["goods_minor"]) == ("draft", suggested[0]["goods_minor"])


def test_nothing_due_drafts_nothing(as_tech: ApiClient, used_up: dict[str, int]) -> None:
    data = {"supplier_id": used_up["supplier"], "part_ids": [999]}
    checked_problem(as_tech.post(f"{API}/reorder/orders", json=data), 409, "nothing_due")
    checked_problem(as_tech.post(f"{API}/reorder/orders", json={"supplier_id": 999}), 404)
    checked_problem(as_tech.post(f"{API}/reorder/orders", json={}), 422)
    assert not Order.select().exists()


def test_use_and_stock_are_read_over_time(as_viewer: ApiClient, used_up: dict[str, int]) -> None:
    uses = as_viewer.get(f"{API}/parts/{used_up['part']}/uses?limit=2").get_json()
    assert ([use["counted"] for use in uses["items"]], bool(uses["next"])) == ([2, 2], True)
    over = as_viewer.get(f"{API}/parts/{used_up['part']}/stock-over-time?days=30").get_json()
    assert (over["opening"], [one["on_books"] for one in over["points"]]) == (0, [6, 4, 2, 0])
    checked_problem(as_viewer.get(f"{API}/parts/{used_up['part']}/stock-over-time?days=0"), 422)
