"""Dates on pages: a part's keeping, opening a lot in one tap, the floor-life clock, what will be left over."""

from __future__ import annotations

from inventory.domain.reorder import stock_dates
from tests.factories import stocked
from tests.http_clients import PageClient
from tests.pages.page_forms import follow, forms, submit, words


def test_a_lot_is_opened_in_one_tap_and_shows_until_when_it_is_good(tech_page: PageClient) -> None:
    part, _, done = stocked(5)
    page = follow(tech_page, submit(tech_page, tech_page.get(f"/parts/{part.id}"), "/keeping", days_opened="30"))
    assert "Good for 30 days once opened." in words(page)
    page = follow(tech_page, submit(tech_page, tech_page.get(f"/lots/{done.lot_ids[0]}"), "/open", "open-now"))
    assert "It is noted as open: good until" in words(page)
    assert part.name in words(tech_page.get("/dates"))
    page = follow(tech_page, submit(tech_page, page, "/not-open"))
    assert "not noted" in words(page)


def test_a_day_to_come_is_refused_on_the_page(tech_page: PageClient) -> None:
    _, _, done = stocked(5)
    refused = submit(tech_page, tech_page.get(f"/lots/{done.lot_ids[0]}"), "/open", "open", day="2999-01-01")
    assert refused.status_code == 422
    assert "is still to come" in words(refused)
    refused = submit(tech_page, tech_page.get(f"/lots/{done.lot_ids[0]}"), "/open", "open", day="tomorrow")
    assert refused.status_code == 422


def test_a_bag_is_opened_put_back_and_baked(tech_page: PageClient) -> None:
    part, _, done = stocked(5)
    stock_dates.set_keeping(part.id, moisture_level="3")
    page = follow(tech_page, submit(tech_page, tech_page.get(f"/lots/{done.lot_ids[0]}"), "/open"))
    assert "168 h of 168 h left out of the bag" in words(page)
    assert "Bags that are open" in words(tech_page.get("/dates"))
    page = follow(tech_page, submit(tech_page, page, "/close-bag"))
    assert "its clock stands still" in words(page)
    page = follow(tech_page, submit(tech_page, page, "/bake", note="24 h at 125"))
    assert "Baked: its floor life begins anew." in words(page)


def test_hours_that_are_no_number_are_refused(tech_page: PageClient) -> None:
    part, _, _ = stocked(5)
    page = tech_page.get(f"/parts/{part.id}")
    refused = submit(tech_page, page, "/keeping", moisture_level="6", label_hours="six")
    assert refused.status_code == 422
    assert "Type hours as a number" in words(refused)


def test_a_viewer_sees_dates_without_buttons(viewer_page: PageClient) -> None:
    _, _, done = stocked(5)
    page = viewer_page.get(f"/lots/{done.lot_ids[0]}")
    assert not [one for one in forms(page) if one.action.endswith("/open")]
    assert viewer_page.get("/dates").status_code == 200
