"""Dates on pages: a part's keeping, opening a lot in one tap, the floor-life clock, what will be left over."""

from __future__ import annotations

from inventory.domain.reorder import stock_dates
from tests.factories import a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_forms, page_text, submit_form


def test_a_lot_is_opened_in_one_tap_and_shows_until_when_it_is_good(tech_page: PageClient) -> None:
    part, _, receipt = a_stocked_part(5)
    page = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/parts/{part.id}"), "/keeping", days_opened="30")
    )
    assert "Good for 30 days once opened." in page_text(page)
    page = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/lots/{receipt.lot_ids[0]}"), "/open", "open-now")
    )
    assert "It is noted as open: good until" in page_text(page)
    assert part.name in page_text(tech_page.get("/dates"))
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/not-open"))
    assert "not noted" in page_text(page)


def test_a_day_to_come_is_refused_on_the_page(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(5)
    refused = submit_form(tech_page, tech_page.get(f"/lots/{receipt.lot_ids[0]}"), "/open", "open", day="2999-01-01")
    assert refused.status_code == 422
    assert "is still to come" in page_text(refused)
    refused = submit_form(tech_page, tech_page.get(f"/lots/{receipt.lot_ids[0]}"), "/open", "open", day="tomorrow")
    assert refused.status_code == 422


def test_a_bag_is_opened_put_back_and_baked(tech_page: PageClient) -> None:
    part, _, receipt = a_stocked_part(5)
    stock_dates.set_part_storage(part.id, moisture_level="3")
    page = follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/lots/{receipt.lot_ids[0]}"), "/open"))
    assert "168 h of 168 h left out of the bag" in page_text(page)
    assert "Bags that are open" in page_text(tech_page.get("/dates"))
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/close-bag"))
    assert "its clock stands still" in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/bake", note="24 h at 125"))
    assert "Baked: its floor life begins anew." in page_text(page)


def test_hours_that_are_no_number_are_refused(tech_page: PageClient) -> None:
    part, _, _ = a_stocked_part(5)
    page = tech_page.get(f"/parts/{part.id}")
    refused = submit_form(tech_page, page, "/keeping", moisture_level="6", label_hours="six")
    assert refused.status_code == 422
    assert "Type hours as a number" in page_text(refused)


def test_a_viewer_sees_dates_without_buttons(viewer_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(5)
    page = viewer_page.get(f"/lots/{receipt.lot_ids[0]}")
    assert not [form for form in page_forms(page) if form.action.endswith("/open")]
    assert viewer_page.get("/dates").status_code == 200
