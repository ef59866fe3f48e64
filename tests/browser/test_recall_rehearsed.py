"""A recall rehearsed on the demo bench: a lot is held, its jobs are worked through on a phone, the owner ends it."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.browser.conftest import PHONE, OpenPhone, Site
from tests.browser.test_three_moments import fits_the_phone

Picture = Callable[[Any, str], None]
DESK = {"width": 1280, "height": 900}
REASON = "Latches crack when the cable is pulled"


def looked_at_from_the_desk(page: Any) -> None:
    """Give a page a desk's size; fail when it scrolls sideways there."""
    page.set_viewport_size(DESK)
    assert page.evaluate("document.documentElement.scrollWidth") <= DESK["width"], page.url


def test_a_bad_lot_is_held_its_jobs_are_seen_to_and_the_owner_ends_it(
    phone: OpenPhone, site: Site, picture: Picture, tmp_path: Path
) -> None:
    page = phone("ines")
    page.goto(f"/S/{site.code('bin A-01')}")
    page.locator(".next-lot a").first.click()
    lot = page.url.partition("?")[0]
    page.get_by_text("Something is wrong with it: put it on hold").click()
    page.get_by_label(re.compile("^What is wrong|^Why|^Reason", re.IGNORECASE)).first.fill(REASON)
    page.get_by_role("button", name="Put the lot on hold").click()
    page.get_by_text("Nobody can take from it.").wait_for()
    fits_the_phone(page)

    page.goto(f"/S/{site.code('bin A-01')}")  # the bin shows it at once
    page.get_by_text("more, not to be taken").first.wait_for()

    page.goto(lot)
    page.get_by_role("link", name=re.compile(r"^Recall: 0 of \d+ jobs seen to$")).click()
    fits_the_phone(page)
    picture(page, "recall")
    looked_at_from_the_desk(page)
    page.set_viewport_size(PHONE)
    jobs = page.locator("ul.work-list > li")
    number = jobs.count()
    assert number > 0
    first = jobs.first.locator("a").first.inner_text()
    page.get_by_placeholder("What was done").first.fill("rang them, header is replaced on Friday")
    page.get_by_role("button", name="Seen to").first.click()
    page.get_by_text(re.compile(rf"^1 of {number} jobs? seen to")).wait_for()

    with page.expect_download() as sent:
        page.get_by_role("link", name="For a spreadsheet (CSV)").click()
    path = tmp_path / "recall.csv"
    sent.value.save_as(path)
    lines = list(csv.DictReader(io.StringIO(path.read_text())))
    assert len(lines) == number
    assert [line["note"] for line in lines if line["job"] == first.removeprefix("Job ")] == [
        "rang them, header is replaced on Friday"
    ]

    owner = phone("odile")
    owner.goto(lot + "/recall")
    owner.get_by_label("What became of it").fill("All scrapped, the supplier credits them")
    owner.get_by_role("button", name="Scrap the rest and end the hold").click()
    owner.get_by_text("The hold is ended.").wait_for()
    fits_the_phone(owner)
    owner.goto(lot + "/recall")
    owner.get_by_text("0 pieces left on the shelves").wait_for()
    assert owner.get_by_role("button", name="Seen to").count() == 0


def test_an_empty_part_offers_what_fits_and_the_owner_sees_the_money(phone: OpenPhone, picture: Picture) -> None:
    page = phone("ines")
    page.goto("/parts?q=CN-203")
    page.get_by_role("link", name=re.compile("Fan harness Corvid 7")).first.click()
    page.get_by_role("heading", name="Out of it: what fits instead").wait_for()
    fits_the_phone(page)
    page.locator("#instead").scroll_into_view_if_needed()
    picture(page, "instead")
    page.get_by_role("button", name=re.compile(r"^Take 1 instead")).first.click()
    page.get_by_text(re.compile("in place of")).first.wait_for()

    owner = phone("odile")
    owner.goto("/money")
    owner.get_by_role("heading", name="Bought in vain").wait_for()
    fits_the_phone(owner)
    looked_at_from_the_desk(owner)
    picture(owner, "money")
