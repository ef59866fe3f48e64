"""The first hour with an empty bench: every page says what comes next, and the pages alone lead to the first pull."""

from __future__ import annotations

from flask.testing import FlaskClient

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.stock_totals import stock_of
from tests.factories import a_bin, a_part, a_person, stocked
from tests.http_clients import PageClient
from tests.pages.page_forms import follow, form, submit, words


def test_before_anybody_may_sign_in_it_says_how_the_first_is_let_in(client: FlaskClient) -> None:
    assert "benchproof person add NAME --role owner" in words(client.get("/sign-in"))
    a_person("owner")
    assert "benchproof person add" not in words(client.get("/sign-in"))


def test_today_tells_the_steps_until_something_was_taken_for_the_first_time(owner_page: PageClient) -> None:
    seen = words(owner_page.get("/"))
    assert "Begin here" in seen
    assert "done" not in seen
    assert "Let the others in" in seen
    _, bin_, _ = stocked(2)
    assert words(owner_page.get("/")).count(" done ") == 2
    opened = submit(owner_page, owner_page.get("/jobs/new"), "/jobs", unit_model="Tern 12", symptom="dead")
    follow(owner_page, opened)
    assert words(owner_page.get("/")).count(" done ") == 3
    follow(owner_page, submit(owner_page, owner_page.get(f"/bins/{bin_.id}"), "/take"))
    assert "Begin here" not in words(owner_page.get("/"))


def test_a_viewer_is_not_told_to_do_what_they_may_not(viewer_page: PageClient) -> None:
    assert "Begin here" not in words(viewer_page.get("/"))


def test_a_part_that_is_not_known_yet_is_described_and_put_in_without_typing_it_twice(tech_page: PageClient) -> None:
    asked = tech_page.get("/receive?q=Fuse+2+A&origin=found")
    assert "It is a new part" in words(asked)
    page = tech_page.get("/parts/new?kind=other&name=Fuse+2+A&origin=found")
    assert dict(form(page, "/parts/new").fields)["name"] == "Fuse 2 A"
    page = follow(tech_page, submit(tech_page, page, "/parts/new", number="FS-1"))
    assert "Part FS-1 is added: now put in what there is." in words(page)
    sent = dict(form(page, "/receive").fields)
    assert (sent["origin"], sent["new_bin"]) == ("found", "1")  # a bench without bins: the one named is a new one
    follow(tech_page, submit(tech_page, page, "/receive", amount="20", bin="A-1"))
    made = bins.bins().items[0]
    assert made.name == "A-1"
    assert stock_of(made.part_id or 0).on_shelf == 20


def test_where_there_are_bins_a_new_one_is_added_only_when_it_is_said(tech_page: PageClient) -> None:
    a_bin(name="A-1")
    page = tech_page.get(f"/receive?part={a_part().id}")
    assert "new_bin" not in dict(form(page, "/receive").fields)
