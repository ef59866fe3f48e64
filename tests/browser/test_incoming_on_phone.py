"""A delivery is tested at the bench on a phone, tap by tap; the owner sets the plan for the next one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.browser.conftest import OpenPhone
from tests.browser.test_three_moments import fits_the_phone

Picture = Callable[[Any, str], None]


def test_a_bag_half_tested_is_finished_on_the_phone_and_taken_from(phone: OpenPhone, picture: Picture) -> None:
    page = phone("ines")
    page.goto("/incoming")
    page.get_by_role("link", name="4-way 2.5 mm wire-to-board header").click()
    page.get_by_text("2 of 5").first.wait_for()
    fits_the_phone(page)
    for number in (3, 4):
        page.get_by_role("button", name="Good", exact=True).tap()
        page.get_by_text(f"Number {number} is good, goes back.").wait_for()
    picture(page, "incoming")
    page.get_by_role("button", name="Bad", exact=True).tap()
    page.get_by_text("The answer is certain: reject it").wait_for()
    result = page.locator(".work-list > li").last
    result.get_by_text("That was wrong").tap()
    result.get_by_role("button", name="It is good: it goes back").tap()
    page.get_by_role("button", name="Accept: people may take from it").tap()
    page.get_by_text("people can take from the lot").wait_for()
    fits_the_phone(page)


def test_fans_that_failed_are_rejected_and_their_like_are_offered(phone: OpenPhone) -> None:
    page = phone("tomas")
    page.goto("/incoming")
    page.get_by_role("link", name="50 mm blower").first.click()
    page.get_by_text("expect about a fifth of the rest to be bad").wait_for()
    page.get_by_role("button", name="Reject: nobody may take from it").tap()
    page.get_by_role("link", name="Other lots that may be no better").wait_for()
    page.get_by_role("button", name="Test every one that is left, and sort out the bad").tap()
    page.get_by_text("0 of 9").first.wait_for()
    fits_the_phone(page)


def test_the_owner_sees_what_a_plan_means_before_keeping_it(phone: OpenPhone) -> None:
    page = phone("odile")
    page.goto("/suppliers")
    page.get_by_role("link", name="Farreach Trading").first.click()
    page.get_by_text("dead on arrival: ").first.wait_for()
    page.get_by_role("link", name="Say how they are checked").click()
    page.get_by_label("Test as many as the answer needs").check()
    page.get_by_label("Be so sure").fill("90")
    page.get_by_label("that at most so many are bad").fill("5")
    page.get_by_role("button", name="See what that means").tap()
    page.get_by_role("cell", name="30 %").wait_for()
    fits_the_phone(page)
    page.get_by_role("button", name="Keep this plan").tap()
    page.get_by_text("Change how they are checked").wait_for()
