"""A swap test on a phone: suspect, proved spare, take, result in one tap, chances before and after, and on."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.browser.conftest import OpenPhone, Site
from tests.browser.test_three_moments import Picture, fits_the_phone, in_sight


def chance_of(page: Any, name: str) -> float:
    """Return how likely the page shows a thing to be bad, in per cent."""
    line = page.locator("#wrong .odds li").filter(has_text=name).first
    return float(line.locator("b").inner_text().split()[0])


def to_the_job(page: Any, site: Site) -> None:
    page.goto(f"/S/{site.code('job')}")
    page.get_by_role("heading", name="What might be wrong").wait_for()


def test_a_swap_test_moves_the_chances_of_the_job_and_says_what_next(
    phone: OpenPhone, site: Site, picture: Picture
) -> None:
    page = phone("ines")
    to_the_job(page, site)
    fits_the_phone(page)
    before = {name: chance_of(page, name) for name in ("Head fan", "Fan harness", "Fan header")}
    assert before["Head fan"] > before["Fan harness"] > before["Fan header"]
    page.locator("#next").scroll_into_view_if_needed()
    assert page.locator("#next").get_by_text("Hand it back unmended").count() == 1
    picture(page, "next-step")

    page.locator("#suspects").get_by_text("One proved connector fits: C-03.").wait_for()
    page.locator("#next").get_by_role("link", name=re.compile("^Swap in C-03 for the Fan harness")).click()
    assert page.get_by_label("Fan harness").is_checked()
    take = page.get_by_role("button", name=re.compile("^Take C-03 for job"))
    assert in_sight(take)
    take.click()
    page.get_by_role("status").get_by_text("C-03 is out with job").first.wait_for()
    assert in_sight(page.get_by_role("button", name="Works with it"))
    page.get_by_role("button", name="Works with it").click()

    moved = page.locator("section.moved")
    moved.get_by_text(re.compile(r"Job \d+: how likely each is bad")).wait_for()
    cells = moved.get_by_role("row").filter(has_text="Fan harness").get_by_role("cell").all_inner_texts()
    assert float(cells[1].split()[0]) == before["Fan harness"]
    assert float(cells[2].split()[0]) > 80
    fits_the_phone(page)
    moved.scroll_into_view_if_needed()
    picture(page, "swap-moved")

    page.get_by_role("link", name=re.compile("^On with job")).click()
    assert chance_of(page, "Fan harness") == float(cells[2].split()[0])
    assert chance_of(page, "Head fan") < before["Head fan"] / 2
    page.get_by_text("C-03 in place of Fan harness: works with it.").wait_for()
    fits_the_phone(page)
    page.locator("#wrong .timeline").scroll_into_view_if_needed()
    picture(page, "what-was-seen")


def test_the_job_of_the_story_shows_how_likely_each_suspect_is_bad(
    phone: OpenPhone, site: Site, picture: Picture
) -> None:
    page = phone("ines")
    page.goto(f"/S/{next(code for what, code in site.codes.items() if 'Hums' in what)}")
    assert chance_of(page, "Supply capacitor") > chance_of(page, "Amplifier module") > chance_of(page, "Input board")
    fits_the_phone(page)
    page.locator("#wrong").scroll_into_view_if_needed()
    picture(page, "chances")


def test_what_was_seen_is_logged_in_two_taps_and_struck_out_again(phone: OpenPhone, site: Site) -> None:
    page = phone("tomas")
    to_the_job(page, site)
    before = chance_of(page, "Fan header")
    page.get_by_text("Log what you saw", exact=True).click()
    page.get_by_label("Of which suspect").select_option(label="Fan header")
    fits_the_phone(page)
    page.locator("#see").get_by_role("button", name="It is bad").click()
    page.get_by_role("status").get_by_text("Fan header measured: bad.").wait_for()
    assert chance_of(page, "Fan header") > before
    page.get_by_text("Strike it out", exact=True).first.click()
    page.get_by_label("Why it was wrong").first.fill("the meter was on the wrong pins")
    page.get_by_role("button", name="Strike it out").first.click()
    page.get_by_role("status").get_by_text("Struck out: Fan header measured: bad.").wait_for()
    assert chance_of(page, "Fan header") == before


def test_the_way_to_logging_opens_the_form_under_the_thumb(phone: OpenPhone, site: Site) -> None:
    page = phone("tomas")
    page.goto("/jobs")
    to_the_job(page, site)
    page.goto(f"{page.url}#see-suspect")
    assert page.get_by_label("Of which suspect").is_visible()


def test_before_a_supply_is_swapped_the_caution_is_read(phone: OpenPhone, picture: Picture) -> None:
    page = phone("ines")
    page.goto("/find?q=C-01")
    caution = page.locator("#take").get_by_label("Caution")
    assert "can kill" in caution.inner_text()
    button = page.get_by_role("button", name=re.compile("^Take C-01"))
    assert caution.bounding_box()["y"] < button.bounding_box()["y"]
    caution.scroll_into_view_if_needed()
    picture(page, "mains-caution")


@pytest.mark.parametrize("path", ["/keep-list", "/more"])
def test_the_list_of_spares_worth_keeping_fits_a_phone(phone: OpenPhone, picture: Picture, path: str) -> None:
    page = phone("odile")
    page.goto(path)
    fits_the_phone(page)
    if path == "/keep-list":
        page.get_by_text("The spares kept so far have saved").wait_for()
        picture(page, "keep-list")


def test_the_job_page_has_no_fault_a_screen_reader_would_stumble_on(phone: OpenPhone, site: Site) -> None:
    """Every bar says what it shows, every field has a name, no id is there twice."""
    page = phone("ines")
    to_the_job(page, site)
    faults = page.evaluate(
        """() => {
          const ids = [...document.querySelectorAll('[id]')].map((one) => one.id);
          const twice = ids.filter((id, at) => ids.indexOf(id) !== at);
          const named = (one) => one.getAttribute('aria-label');
          const bars = [...document.querySelectorAll('#wrong svg[role=img]')].filter((one) => !named(one));
          const nameless = [...document.querySelectorAll('#wrong input:not([type=hidden]), #wrong select')]
            .filter((one) => !one.labels.length && !one.getAttribute('aria-label'));
          return [twice, bars.length, nameless.map((one) => one.name)];
        }"""
    )
    assert faults == [[], 0, []]


def test_a_piece_that_is_out_is_run_stays_and_the_job_is_closed_by_what_was_seen(
    phone: OpenPhone, picture: Picture
) -> None:
    page = phone("ines")
    page.goto("/find?q=C-12")
    page.get_by_role("link", name=re.compile("^job 14")).first.click()
    lead = page.locator("#next .lead")
    assert lead.inner_text().startswith("Run the unit with C-12 in place of the Fan, and tap what it does")
    page.locator("#next").scroll_into_view_if_needed()
    picture(page, "under-way")
    page.get_by_role("link", name="Tap what the unit does").click()
    works = page.get_by_role("button", name="Works with it")
    assert in_sight(works)
    works.click()
    page.get_by_role("link", name=re.compile("^On with job")).click()
    assert in_sight(lead)
    assert lead.inner_text().startswith("The unit worked with C-12, so the old Fan is bad with a chance of ")
    fits_the_phone(page)
    picture(page, "worked")
    page.locator("#next").get_by_role("button", name="C-12 stays in the unit").click()
    page.get_by_role("status").get_by_text("C-12 stays fitted").first.wait_for()
    page.get_by_role("link", name="Close the job").click()
    was = page.locator("#close-was")
    assert was.get_by_label("Fan", exact=False).first.is_checked()
    assert in_sight(was.get_by_label("Fan", exact=False).first)
    page.get_by_label("In words").fill("The fan's bearing had seized.")
    page.get_by_role("button", name="Close the job").click()
    page.get_by_role("status").get_by_text("By all that this job saw, C-12 is").first.wait_for()
