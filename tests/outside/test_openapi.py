"""The document of the API is OpenAPI 3.1, by openapi-spec-validator, and tells of every route there is."""

from __future__ import annotations

from openapi_spec_validator import OpenAPIV31SpecValidator

from inventory.api.document import openapi_document
from tests.api.routes import api_routes

METHODS = {"get", "post", "put", "patch", "delete"}


def test_it_is_openapi_3_1() -> None:
    assert openapi_document()["openapi"].startswith("3.1.")
    OpenAPIV31SpecValidator(openapi_document()).validate()


def test_it_tells_of_every_route_and_of_no_other() -> None:
    operations = {
        (method.upper(), path)
        for path, item in openapi_document()["paths"].items()
        for method in item
        if method in METHODS
    }
    assert operations == {(route.method, route.documented) for route in api_routes()}


def test_every_operation_has_its_own_name_summary_role_and_answers() -> None:
    summaries = []
    for path, item in openapi_document()["paths"].items():
        for method in METHODS & set(item):
            operation = item[method]
            summaries.append(operation["summary"])
            assert operation["x-role"] in ("viewer", "tech", "owner"), path
            answers = {int(status) for status in operation["responses"]}
            assert {401, 403, 422, 500} <= answers, path
            assert len([status for status in answers if status < 300]) == 1, path
            if method != "get":
                assert 409 in answers, path
    assert len(summaries) == len(set(summaries))


def test_every_field_says_what_it_is_for() -> None:
    for name, schema in openapi_document()["components"]["schemas"].items():
        for field, node in schema["properties"].items():
            assert node.get("description"), f"{name}.{field}"


def test_every_problem_has_the_same_form() -> None:
    for answer in openapi_document()["components"]["responses"].values():
        content = answer["content"]
        assert list(content) == ["application/problem+json"]
        assert content["application/problem+json"]["schema"] == {"$ref": "#/components/schemas/Problem"}
