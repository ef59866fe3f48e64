"""The API's document and the page that shows it: open to whoever has signed in."""

from __future__ import annotations

from flask.testing import FlaskClient
from markupsafe import escape

from inventory.api.document import openapi_document
from inventory.web.errors import ERROR_EXPLANATIONS, problem_type
from tests.api.problem_details import checked_problem
from tests.http_clients import ApiClient, PageClient


def test_it_is_answered_to_a_program_and_to_a_browser(as_viewer: ApiClient, tech_page: PageClient) -> None:
    for client in (as_viewer, tech_page):
        answer = client.get("/api/openapi.json")
        assert answer.content_type == "application/json"
        assert answer.get_json() == openapi_document()


def test_it_is_sent_once(as_viewer: ApiClient) -> None:
    etag = as_viewer.get("/api/openapi.json").headers["ETag"]
    assert as_viewer.get("/api/openapi.json", headers={"If-None-Match": etag}).status_code == 304


def test_a_stranger_reads_neither(client: FlaskClient) -> None:
    checked_problem(client.get("/api/openapi.json"), 401)
    checked_problem(client.get("/api/"), 401)


def test_the_page_shows_every_operation_and_asks_nobody_else(tech_page: PageClient) -> None:
    answer = tech_page.get("/api/")
    assert answer.content_type.startswith("text/html")
    for path, item in openapi_document()["paths"].items():
        assert f"<code>{path}</code>" in answer.text
        for method in ("get", "post", "put", "patch", "delete"):
            if method in item:
                assert escape(item[method]["summary"]) in answer.text
    assert "<script" not in answer.text
    assert "http" not in answer.text.replace('"$BENCH', "").split("<main")[0]  # no sheet from elsewhere


def test_the_page_is_the_same_to_a_program(as_viewer: ApiClient) -> None:
    assert as_viewer.get("/api/").status_code == 200


def test_the_type_of_every_problem_leads_to_its_explanation_on_the_page(as_viewer: ApiClient) -> None:
    problem = checked_problem(as_viewer.delete("/api/v1/parts"), 405)
    address, _, anchor = problem["type"].partition("#")
    assert (
        f'<tr id="{anchor}"><th scope="row">405</th><td>{ERROR_EXPLANATIONS[405]}</td>' in as_viewer.get(address).text
    )
    described = {
        int(status) for item in openapi_document()["paths"].values() for operation in item.values()
        if isinstance(operation, dict) for status in operation.get("responses", {}) if int(status) >= 400
    }  # fmt: skip
    assert described <= set(ERROR_EXPLANATIONS)
    assert problem_type(418) == "about:blank"
