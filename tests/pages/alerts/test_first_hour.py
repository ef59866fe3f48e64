"""The first hour with an empty bench: every page says what comes next, and the pages alone lead to the first pull."""

from __future__ import annotations

from flask.testing import FlaskClient

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.stock_totals import stock_of
from tests.factories import a_bin, a_part, a_person, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form


def test_before_anybody_may_sign_in_it_says_how_the_first_is_let_in(client: FlaskClient) -> None:
    assert "benchproof person add NAME --role owner" in page_text(client.get("/sign-in"))
    a_person("owner")
    assert "benchproof person add" not in page_text(client.get("/sign-in"))


def test_today_tells_the_steps_until_something_was_taken_for_the_first_time(owner_page: PageClient) -> None:
    text = page_text(owner_page.get("/"))
    assert "Begin here" in text
    assert "done" not in text
    assert "Let the others in" in text
    _, bin_, _ = a_stocked_part(2)
    assert page_text(owner_page.get("/")).count(" done ") == 2
    opened = submit_form(owner_page, owner_page.get("/jobs/new"), "/jobs", unit_model="Tern 12", symptom="dead")
    follow_redirect(owner_page, opened)
    assert page_text(owner_page.get("/")).count(" done ") == 3
    follow_redirect(owner_page, submit_form(owner_page, owner_page.get(f"/bins/{bin_.id}"), "/take"))
    assert "Begin here" not in page_text(owner_page.get("/"))


def test_a_viewer_is_not_told_to_do_what_they_may_not(viewer_page: PageClient) -> None:
    assert "Begin here" not in page_text(viewer_page.get("/"))


def test_a_part_that_is_not_known_yet_is_described_and_put_in_without_typing_it_twice(tech_page: PageClient) -> None:
    question_page = tech_page.get("/receive?q=Fuse+2+A&origin=found")
    assert "It is a new part" in page_text(question_page)
    page = tech_page.get("/parts/new?kind=other&name=Fuse+2+A&origin=found")
    assert dict(find_form(page, "/parts/new").fields)["name"] == "Fuse 2 A"
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/parts/new", number="FS-1"))
    assert "Part FS-1 is added: now put in what there is." in page_text(page)
    fields = dict(find_form(page, "/receive").fields)
    assert (fields["origin"], fields["new_bin"]) == ("found", "1")  # a bench without bins: the one named is a new one
    follow_redirect(tech_page, submit_form(tech_page, page, "/receive", amount="20", bin="A-1"))
    bin_ = bins.bins().items[0]
    assert bin_.name == "A-1"
    assert stock_of(bin_.part_id or 0).on_shelf == 20


def test_where_there_are_bins_a_new_one_is_added_only_when_it_is_said(tech_page: PageClient) -> None:
    a_bin(name="A-1")
    page = tech_page.get(f"/receive?part={a_part().id}")
    assert "new_bin" not in dict(find_form(page, "/receive").fields)
