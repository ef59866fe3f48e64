"""What time does to stock, over REST."""

from __future__ import annotations

from datetime import timedelta

from inventory.domain.common import clock
from tests.factories import a_stocked_part
from tests.http_clients import ApiClient


def test_a_part_is_given_a_life_after_opening_and_a_lot_is_opened(as_tech: ApiClient) -> None:
    part, _, done = a_stocked_part(5)
    lot = done.lot_ids[0]
    response = as_tech.put(f"/api/v1/parts/{part.id}/keeping", json={"days_opened": 30})
    assert response.get_json() == {
        "part_id": part.id, "days_opened": 30, "moisture_level": "", "label_hours": None,
    }  # fmt: skip
    assert as_tech.get(f"/api/v1/parts/{part.id}/keeping").get_json() == response.get_json()
    opened = as_tech.post(f"/api/v1/lots/{lot}/open", json={}).get_json()
    assert opened["until"] == (clock.today() + timedelta(days=30)).isoformat()
    assert as_tech.post(f"/api/v1/lots/{lot}/open", json={}).status_code == 409
    assert as_tech.post(f"/api/v1/lots/{lot}/not-open").get_json()["until"] is None
    assert as_tech.post(f"/api/v1/lots/{lot}/open", json={"day": "2999-01-01"}).status_code == 422


def test_a_bag_is_opened_closed_and_baked(as_tech: ApiClient, as_viewer: ApiClient) -> None:
    part, _, done = a_stocked_part(5)
    lot = f"/api/v1/lots/{done.lot_ids[0]}"
    as_tech.put(f"/api/v1/parts/{part.id}/keeping", json={"moisture_level": "3"})
    assert as_tech.post(f"{lot}/open", json={}).get_json()["bag_open"] is True
    assert as_tech.post(f"{lot}/close-bag").get_json()["bag_open"] is False
    assert as_tech.post(f"{lot}/bake", json={"note": "24 h"}).get_json()["baked"] is not None
    assert as_viewer.get(f"{lot}/dates").get_json()["floor"]["left"] == 168.0
    assert as_viewer.post(f"{lot}/close-bag").status_code == 403


def test_what_will_be_left_over_is_listed(as_tech: ApiClient) -> None:
    part, _, done = a_stocked_part(5)
    as_tech.put(f"/api/v1/parts/{part.id}/keeping", json={"days_opened": 10})
    as_tech.post(f"/api/v1/lots/{done.lot_ids[0]}/open", json={})
    items = as_tech.get("/api/v1/expiring").get_json()["items"]
    assert [(one["lot"]["id"], one["days_left"]) for one in items] == [(done.lot_ids[0], 10)]
    assert as_tech.get("/api/v1/expiring?within_days=5").get_json()["items"] == []


def test_what_cannot_be_is_refused(as_tech: ApiClient) -> None:
    part, _, _ = a_stocked_part(5)
    at = f"/api/v1/parts/{part.id}/keeping"
    for given in ({"days_opened": 0}, {"days_opened": "30"}, {"moisture_level": "9"}, {"moisture_level": "6"}):
        assert as_tech.put(at, json=given).status_code == 422, given
    assert as_tech.put("/api/v1/parts/999/keeping", json={"days_opened": 3}).status_code == 404
    assert as_tech.get("/api/v1/lots/999/dates").status_code == 404
