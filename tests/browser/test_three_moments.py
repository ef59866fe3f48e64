"""The three moments of a bench, on a phone: take one, find out with a proved spare, decide what to order."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import PHONE, OpenPhone, Site

Picture = Callable[[Any, str], None]


def quantity(page: Any) -> int:
    """Return how many the bin page shows."""
    return int(page.locator(".count b").first.inner_text())


def in_sight(button: Any) -> bool:
    """Tell whether a button can be tapped without scrolling: all of it above the rail."""
    box = button.bounding_box()
    return bool(box["y"] + box["height"] < PHONE["height"] - 62)


def fits_the_phone(page: Any) -> None:
    """Fail when the page scrolls sideways, or something to tap is smaller than a thumb needs."""
    page.wait_for_load_state("load")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], page.url
    small = page.evaluate(
        """() => [...document.querySelectorAll('main button, main a.button, main summary, main select, .rail a')]
        .filter((one) => one.getClientRects().length && one.getBoundingClientRect().height < 44)
        .map((one) => one.textContent.trim())"""
    )
    assert not small, (page.url, small)


def test_a_tech_scans_a_bin_takes_one_for_the_job_in_hand_and_undoes_it(
    phone: OpenPhone, site: Site, picture: Picture
) -> None:
    page = phone("ines")
    page.goto("/scan")
    assert page.evaluate("document.activeElement.id") == "code"  # focus waits where a hand scanner types
    fits_the_phone(page)
    page.keyboard.type(site.code("bin A-01").lower())
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Bin A-01").wait_for()
    before = quantity(page)
    button = page.get_by_role("button", name=re.compile(r"^Take 1 for job \d+$")).first
    assert in_sight(button)
    fits_the_phone(page)
    picture(page, "bin")
    button.dblclick()  # an impatient thumb
    page.get_by_role("status").get_by_text("taken from A-01 for job").wait_for()
    assert quantity(page) == before - 1
    picture(page, "taken")
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    page.get_by_role("status").get_by_text("Undone: pull").wait_for()
    assert quantity(page) == before


def test_it_pulls_once_when_the_answer_is_lost_and_the_tech_tries_again(phone: OpenPhone, site: Site) -> None:
    page = phone("tomas")
    page.goto(f"/S/{site.code('bin B-01')}")
    before = quantity(page)
    if page.get_by_label("For which job?").count():
        page.get_by_label("For which job?").select_option(index=1)

    def lose_the_answer(route: Any) -> None:
        route.fetch(max_redirects=0)  # the service hears it, the phone does not hear back
        route.abort("connectionreset")
        page.unroute("**/take")

    page.route("**/take", lose_the_answer)
    page.locator("form.take button").first.click()
    page.wait_for_url("chrome-error://**")
    page.reload()  # sends the same form again
    page.get_by_role("status").get_by_text("taken from B-01").wait_for()
    assert quantity(page) == before - 1


def test_it_works_without_scripts(phone: OpenPhone, site: Site) -> None:
    page = phone("ines", java_script_enabled=False)
    page.goto(f"/find?q={site.code('bin A-01')}")
    before = quantity(page)
    page.get_by_role("button", name=re.compile(r"^Take 1 for job")).first.click()
    assert quantity(page) == before - 1
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    assert quantity(page) == before


def test_a_tech_with_a_mystery_takes_the_proved_spare_and_brings_it_back_with_the_result(
    phone: OpenPhone, site: Site, picture: Picture
) -> None:
    page = phone("ines")
    page.goto(f"/S/{site.code('job')}")
    fits_the_phone(page)
    suspects = page.locator("#suspects")
    suspects.get_by_text("One proved fan fits: C-07.").wait_for()
    suspects.scroll_into_view_if_needed()
    picture(page, "suspects")
    suspects.get_by_role("link", name="C-07").click()
    page.get_by_role("heading", name="C-07").first.wait_for()
    assert page.get_by_label("Head fan").is_checked()
    fits_the_phone(page)
    picture(page, "spare")
    take = page.get_by_role("button", name=re.compile("^Take C-07 for job"))
    assert in_sight(take)
    take.click()
    page.get_by_role("status").get_by_text("C-07 is out with job").first.wait_for()
    assert in_sight(page.get_by_role("button", name="Still fails"))
    fits_the_phone(page)
    picture(page, "spare-out")
    page.get_by_role("button", name="Still fails").click()
    page.get_by_role("heading", name="What the swap test did to C-07").wait_for()
    assert page.get_by_text(re.compile(r"^Before \d\d(\.\d)? %")).first.is_visible()
    assert page.get_by_role("status").get_by_text("C-07 is back in").first.is_visible()
    fits_the_phone(page)
    picture(page, "spare-result")
    page.get_by_role("button", name=re.compile("Tapped wrongly")).click()
    page.get_by_role("status").get_by_text("tap the right result").wait_for()
    page.get_by_role("button", name="Works with it").click()
    page.get_by_role("link", name=re.compile("^On with job")).click()
    page.get_by_text("works with it", exact=True).first.wait_for()


def test_the_owner_sees_what_to_order_and_why_a_part_is_on_the_list(phone: OpenPhone, picture: Picture) -> None:
    page = phone("odile")
    fits_the_phone(page)
    picture(page, "today")
    page.get_by_role("link", name="The whole reorder list").click()
    page.get_by_role("heading", name="Order now").wait_for()
    picture(page, "reorder")
    page.get_by_role("link", name=re.compile("^Why so many of")).first.click()
    page.wait_for_url("**/reckoning")
    picture(page, "reckoning")
    assert page.get_by_text("reorder point").first.is_visible()


@pytest.mark.parametrize(
    "path", ["/", "/scan", "/jobs", "/jobs/new", "/find?q=fan", "/find?q=nothing-like-it", "/bins/999"]
)
def test_a_techs_pages_fit_a_phone(phone: OpenPhone, path: str) -> None:
    page = phone("ines")
    page.goto(path)
    fits_the_phone(page)
