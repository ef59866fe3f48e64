"""The document is valid OpenAPI 3.1 by an outside judge, and tells of every route that the app has."""

from __future__ import annotations

from typing import Any

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from inventory.api.document import document
from tests.api.routes import Route, api_routes

DOCUMENT = document()
ROUTES = api_routes()


def operation(route: Route) -> dict[str, Any]:
    """Return what the document says of a route."""
    found: dict[str, Any] = DOCUMENT["paths"][route.documented][route.method.lower()]
    return found


def test_it_is_valid_openapi_3_1() -> None:
    assert DOCUMENT["openapi"].startswith("3.1")
    assert [error.message for error in OpenAPIV31SpecValidator(DOCUMENT).iter_errors()] == []


def test_it_tells_of_every_route_and_of_no_other() -> None:
    told = {
        (method.upper(), path)
        for path, item in DOCUMENT["paths"].items()
        for method in item
        if method in ("get", "post", "put", "patch", "delete")
    }
    assert told == {(one.method, one.documented) for one in ROUTES}


def test_every_operation_has_its_own_name() -> None:
    names = [
        one.get("operationId") for path in DOCUMENT["paths"].values() for one in path.values() if "summary" in one
    ]
    known = [name for name in names if name]
    assert len(known) == len(set(known))


@pytest.mark.parametrize("route", ROUTES, ids=str)
def test_it_says_what_the_operation_is_for_and_how_it_answers(route: Route) -> None:
    told = operation(route)
    assert told["summary"].endswith(".")
    assert told["tags"]
    assert told["x-role"] == route.role
    statuses = {int(status) for status in told["responses"]}
    assert statuses & {200, 201, 204}
    assert {401, 403, 500} <= statuses
    if "<" in route.rule:
        assert 404 in statuses
    for status, answer in told["responses"].items():
        if int(status) >= 400:
            assert answer["$ref"].startswith("#/components/responses/")


@pytest.mark.parametrize("route", [one for one in ROUTES if one.method != "GET"], ids=str)
def test_every_write_takes_an_idempotency_key(route: Route) -> None:
    names = [one.get("$ref", "").rsplit("/", 1)[-1] for one in operation(route).get("parameters", [])]
    assert "IdempotencyKey" in names


def test_the_app_serves_just_this_document(as_viewer: Any) -> None:
    assert as_viewer.get("/api/openapi.json").get_json() == DOCUMENT
