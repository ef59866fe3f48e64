"""Everything else is one tap away."""

from __future__ import annotations

import pytest

from tests.http_clients import PageClient
from tests.pages.page_forms import follow, submit, words


def ways(client: PageClient) -> list[str]:
    """Return the addresses that the page leads to."""
    body = client.get("/more").get_data(as_text=True)
    return [part.split('"')[0] for part in body.split('<ul class="doors">', 1)[1].split('href="')[1:]]


@pytest.mark.parametrize("role", ["owner_page", "tech_page", "viewer_page"])
def test_it_leads_only_where_one_may_go(role: str, request: pytest.FixtureRequest) -> None:
    client: PageClient = request.getfixturevalue(role)
    for address in ways(client):
        if not address.startswith("/static"):
            assert client.get(address.split("#")[0]).status_code == 200, address


def test_it_shows_the_owner_more_than_a_tech(owner_page: PageClient, tech_page: PageClient) -> None:
    assert "/people" in ways(owner_page)
    assert "/people" not in ways(tech_page)
    assert "/receive" in ways(tech_page)


def test_it_signs_out(tech_page: PageClient) -> None:
    page = tech_page.get("/more")
    assert f"Sign out {tech_page.person.shown_as}" in words(page)
    assert "Sign in" in words(follow(tech_page, submit(tech_page, page, "/sign-out")))
    assert tech_page.get("/more").status_code == 302


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    assert tech_page.post_form("/more").status_code == 405
