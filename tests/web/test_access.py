"""The door, over every route that the app has: deny by default, and no more than each role may."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient

from inventory.domain.jobs import people
from tests.api.problem_details import checked_problem
from tests.api.routes import API, Route, api_routes, routes_of
from tests.http_clients import ApiClient, PageClient

OPEN = {"/health", "/healthz", "/sign-in", "/sign-out", "/alerts.atom"}  # the feed asks for a key in its address
FILES = ("/static/", "/api/static/", "/favicon.ico", "/manifest.webmanifest")
READING = {f"POST {API}/bag-codes", f"POST {API}/photos"}  # what is read comes in the body, and nothing is written
WRITING = [route for route in api_routes() if route.method != "GET" and str(route) not in READING]


def test_only_a_short_list_is_open_to_strangers(app: Flask) -> None:
    opened = {one.rule for one in routes_of(app) if one.role == "anybody" and not one.rule.startswith(FILES)}
    assert opened <= OPEN


def test_a_stranger_may_ask_whether_the_service_is_up_at_the_former_address_too(client: FlaskClient) -> None:
    assert client.get("/health").json == {"status": "ok"}
    answer = client.get("/healthz")
    assert (answer.status_code, answer.location) == (308, "/health")
    assert client.get("/healthz", follow_redirects=True).json == {"status": "ok"}


def test_a_stranger_is_refused_everywhere_else(app: Flask, client: FlaskClient) -> None:
    for one in routes_of(app):
        if one.role == "anybody":
            continue
        answer = client.open(one.address, method=one.method)
        if one.rule.startswith("/api/"):
            checked_problem(answer, 401, "not_signed_in")
            assert answer.headers["WWW-Authenticate"] == "Bearer"
        elif one.method == "GET":
            assert (answer.status_code, answer.location.split("?")[0]) == (302, "/sign-in"), one
        else:
            assert (answer.status_code, answer.location.split("?")[0]) == (303, "/sign-in"), one


def test_a_stranger_s_browser_is_sent_from_the_api_page_to_sign_in_and_back(client: FlaskClient) -> None:
    browser = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
    response = client.get("/api/", headers=browser)
    assert (response.status_code, response.location) == (302, "/sign-in?next=/api/")
    checked_problem(client.get("/api/", headers={"Accept": "*/*"}), 401, "not_signed_in")
    checked_problem(client.get(f"{API}/parts", headers=browser), 401, "not_signed_in")  # that is for programs alone


@pytest.mark.parametrize("secret", ["", "nonsense", "bp_nonsense", "bp_" + "x" * 500])
def test_a_token_that_is_none_of_ours_opens_nothing(secret: str, client: FlaskClient) -> None:
    checked_problem(client.get(f"{API}/parts", headers={"Authorization": f"Bearer {secret}"}), 401)


def test_a_viewer_may_write_nowhere(as_viewer: ApiClient) -> None:
    for one in WRITING:
        problem = checked_problem(as_viewer.open(one.address, method=one.method, json={}), 403, "role")
        assert "ask the owner" in problem["detail"], one


def test_a_tech_may_not_do_what_is_the_owner_s(as_tech: ApiClient) -> None:
    owners = [route for route in api_routes() if route.role == "owner"]
    assert {f"POST {API}/people", f"GET {API}/tokens"} <= {str(owner) for owner in owners}
    for owner in owners:
        checked_problem(as_tech.open(owner.address, method=owner.method, json={}), 403, "role")


def test_a_tech_may_read_and_write_the_rest(as_tech: ApiClient) -> None:
    for route in api_routes():
        if route.role != "owner" and "<" not in route.rule and route.method == "GET":
            assert as_tech.get(route.address).status_code in (200, 422), route  # 422: it asks for something


def _is_page_form(one: Route) -> bool:
    return one.method == "POST" and not one.rule.startswith("/api/") and one.role != "anybody"


def test_a_browser_writes_through_forms_of_our_own_only(app: Flask, owner_page: PageClient) -> None:
    forms = [one for one in routes_of(app) if _is_page_form(one)]
    assert forms
    for form in forms:
        assert owner_page.post(form.address).status_code == 403, form


def test_a_session_reads_the_api_and_never_writes_it(owner_page: PageClient) -> None:
    assert owner_page.get(f"{API}/parts").status_code == 200
    for one in WRITING:
        checked_problem(owner_page.open(one.address, method=one.method, json={}), 401, "not_signed_in")


def test_a_token_opens_no_page(as_owner: ApiClient) -> None:
    assert as_owner.get("/bins").status_code in (302, 404)
    assert as_owner.get("/").status_code == 302


def test_a_token_that_was_ended_opens_nothing(as_owner: ApiClient) -> None:
    body = as_owner.post(f"{API}/tokens", json={"person_id": as_owner.person.id, "label": "clock"}).get_json()
    key = {"Authorization": f"Bearer {body['secret']}"}
    assert as_owner.get(f"{API}/me", headers=key).status_code == 200
    assert as_owner.delete(f"{API}/tokens/{body['id']}").status_code == 204
    checked_problem(as_owner.get(f"{API}/me", headers=key), 401)


def test_the_token_of_somebody_who_left_opens_nothing(as_owner: ApiClient, as_tech: ApiClient) -> None:
    people.edit_person(as_tech.person.id, active=False)
    checked_problem(as_tech.get(f"{API}/me"), 401)
