"""Signing in and out, and the page for what was not done."""

from __future__ import annotations

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from flask import Flask
from flask.testing import FlaskClient

from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.jobs import people
from tests.factories import PASSPHRASE, a_job, a_person, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form


def test_it_lets_somebody_in_and_goes_on_to_where_they_were_going(client: FlaskClient) -> None:
    a_person(name="ines")
    page = client.get("/sign-in?next=/jobs")
    result_page = submit_form(client, page, "/sign-in", name="Ines", passphrase=PASSPHRASE)
    assert result_page.headers["Location"] == "/jobs"
    assert client.get("/jobs").status_code == 200


def test_it_keeps_the_name_and_says_that_the_pair_is_wrong(client: FlaskClient) -> None:
    a_person(name="ines")
    refused = submit_form(client, client.get("/sign-in"), "/sign-in", name="ines", passphrase="not this one")
    assert refused.status_code == 403
    assert "do not go together" in page_text(refused)
    assert 'value="ines"' in refused.get_data(as_text=True)
    assert "not this one" not in refused.get_data(as_text=True)


def test_it_slows_down_after_five_wrong_tries(client: FlaskClient) -> None:
    a_person(name="ines")
    for _ in range(5):
        submit_form(client, client.get("/sign-in"), "/sign-in", name="ines", passphrase="wrong words")
    slowed = submit_form(client, client.get("/sign-in"), "/sign-in", name="ines", passphrase=PASSPHRASE)
    assert slowed.status_code == 429
    assert "Too many wrong tries" in page_text(slowed)


@pytest.mark.parametrize(
    "onward", ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", "jobs"]
)
def test_it_never_goes_on_to_another_site(client: FlaskClient, onward: str) -> None:
    a_person(name="ines")
    page = client.get("/sign-in", query_string={"next": onward})
    assert submit_form(client, page, "/sign-in", name="ines", passphrase=PASSPHRASE).headers["Location"] == "/"


def test_it_refuses_a_form_that_is_not_ours(client: FlaskClient) -> None:
    a_person(name="ines")
    assert client.post("/sign-in", data={"name": "ines", "passphrase": PASSPHRASE}).status_code == 403
    assert client.get("/").status_code == 302


def test_a_form_sent_after_the_sign_in_ended_says_so_and_leads_back_to_its_page(tech_page: PageClient) -> None:
    part, place, _ = a_stocked_part(5)
    people.set_job_in_hand(tech_page.person.id, a_job().id)
    page = tech_page.get(f"/bins/{place.id}")
    tech_page.delete_cookie("bench")
    headers = {"Referer": f"http://localhost/bins/{place.id}?done=3"}
    answer = tech_page.post(f"/bins/{place.id}/take", data=dict(find_form(page, "/take").fields), headers=headers)
    assert answer.status_code == 303
    question_page = follow_redirect(tech_page, answer)
    assert "You were signed out meanwhile, so nothing was done" in page_text(question_page)
    assert stock_of(part.id).on_shelf == 5
    second_page = submit_form(
        tech_page, question_page, "/sign-in", name=tech_page.person.name, passphrase="not this one"
    )
    assert "You were signed out meanwhile" in page_text(second_page)
    back = submit_form(tech_page, second_page, "/sign-in", name=tech_page.person.name, passphrase=PASSPHRASE)
    assert back.headers["Location"] == f"/bins/{place.id}?done=3"


def test_a_form_shown_anew_after_a_refusal_leads_back_to_a_page_that_can_be_opened(client: FlaskClient) -> None:
    pages = {"http://localhost/orders/7/lines/edit": "/orders/7", "http://other.example/x": "/bins/3"}
    for referer, onward in pages.items():
        answer = client.post("/bins/3/take", headers={"Referer": referer})
        assert parse_qs(urlsplit(answer.location).query) == {"next": [onward], "ended": ["1"]}


def test_it_lets_somebody_out(tech_page: PageClient) -> None:
    page = follow_redirect(tech_page, tech_page.post_form("/sign-out"))
    assert "Sign in" in page_text(page)
    assert tech_page.get("/").status_code == 302


def test_it_tells_nobody_who_may_sign_in_unless_it_is_the_demo(client: FlaskClient) -> None:
    assert "demo" not in page_text(client.get("/sign-in"))


def test_every_page_but_the_door_asks_a_stranger_to_sign_in(app: Flask, client: FlaskClient) -> None:
    open_to_all = {
        "pages.sign_in", "pages.submit_sign_in", "pages.static", "health", "former_health",
        "pages.atom_feed",  # a feed reader cannot sign in: it sends a key in the address, and is refused without
    }  # fmt: skip
    for rule in app.url_map.iter_rules():
        if not rule.endpoint.startswith("pages.") or rule.endpoint in open_to_all or "GET" not in rule.methods:  # type: ignore[operator]
            continue
        path = app.url_map.bind("localhost").build(
            rule.endpoint, dict.fromkeys(rule.arguments, 1) | ({"code": "X"} if "code" in rule.arguments else {})
        )
        answer = client.get(path)
        assert answer.status_code == 302, rule
        assert answer.headers["Location"].startswith("/sign-in"), rule


def test_a_browser_that_asks_for_a_sign_by_its_old_address_gets_ours(client: FlaskClient) -> None:
    with client.get("/favicon.ico") as sign:
        assert (sign.status_code, sign.mimetype) == (200, "image/svg+xml")


def test_what_is_not_there_is_said_with_a_way_on(tech_page: PageClient) -> None:
    page = tech_page.get("/no/such/page")
    assert page.status_code == 404
    assert "There is nothing at this address" in page_text(page)
    assert 'href="/scan"' in page.get_data(as_text=True)


def test_the_address_of_a_form_that_a_browser_asks_for_again_leads_to_the_page_it_is_on(
    tech_page: PageClient,
) -> None:
    _, bin_, _ = a_stocked_part(1)
    woken = tech_page.get(f"/bins/{bin_.id}/take", headers={"Accept": "text/html,*/*"})
    assert (woken.status_code, woken.headers["Location"]) == (303, f"/bins/{bin_.id}")
    assert tech_page.get(f"/bins/{bin_.id}/take").status_code == 405


def test_a_body_that_is_too_large_is_refused(tech_page: PageClient) -> None:
    refused = tech_page.post_form("/jobs", symptom="x" * 2_000_000)
    assert refused.status_code == 413
    assert "the most that is taken here: send less" in page_text(refused)


def test_static_files_stay_in_the_phone_until_they_change(tech_page: PageClient) -> None:
    addresses = re.findall(r'"(/static/[\w.]+\?v=\w{8})', tech_page.get("/scan").get_data(as_text=True))
    assert any("bench.css" in address for address in addresses)
    fields = {address: tech_page.get(address, buffered=True).headers["Cache-Control"] for address in addresses}
    assert all("immutable" in address for address in fields.values())
    old = tech_page.get("/static/bench.css?v=00000000", buffered=True)
    assert "immutable" not in old.headers["Cache-Control"]


@pytest.mark.parametrize("path", ["/static/../common.py", "/static/%2e%2e/common.py", "/static//etc/passwd"])
def test_nothing_but_static_files_is_served_as_one(tech_page: PageClient, path: str) -> None:
    assert tech_page.get(f"{path}?v=", follow_redirects=True).status_code == 404
