"""An outside fuzzer (Schemathesis) throws what the document allows, and does not allow, at every operation.

Bounded and repeatable: a fixed seed, a few examples an operation, in process. What it looks for: no server error, and
no status, content type or body that the document does not tell of.
"""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from flask import Flask
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from inventory.domain.jobs import people
from tests.api.routes import api_routes
from tests.factories import a_job, a_person, a_stocked_part
from tests.proof_factories import a_piece, prove_fan

EXAMPLES = 4  # an operation
LEFT_OUT = {("PUT", "/api/v1/people/{person_id}/passphrase")}  # would be a test of Argon2's patience


@pytest.fixture
def fuzzed(app: Flask) -> tuple[Any, str]:
    """The service with something in it, as the fuzzer sees it, and an owner's token."""
    app.config["PROPAGATE_EXCEPTIONS"] = False
    owner = a_person("owner")
    secret = str(people.add_token(owner.id, "fuzzer").secret)
    a_stocked_part(20)
    a_job()
    prove_fan(a_piece("C-07").id)
    headers = {"Authorization": f"Bearer {secret}"}
    return schemathesis.openapi.from_wsgi("/api/openapi.json", app, headers=headers), secret


def _operations(schema: Any) -> Iterator[Any]:
    for result in schema.get_all_operations():
        operation = result.ok()
        if (operation.method.upper(), operation.path) not in LEFT_OUT:
            yield operation


def _throw(operation: Any, secret: str, wrong: list[str], statuses: Counter[int]) -> None:
    cases = st.one_of(
        operation.as_strategy(),
        operation.as_strategy(generation_mode=schemathesis.GenerationMode.NEGATIVE),
    )

    @seed(20260331)
    @settings(
        max_examples=EXAMPLES, deadline=None, database=None, phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=cases, near=st.booleans())
    def each(case: Any, near: bool) -> None:
        if near:
            _bring_near(case)
        answer = case.call(headers={"Authorization": f"Bearer {secret}"})
        statuses[answer.status_code] += 1
        problem = _problem(case, answer)
        if problem:
            wrong.append(f"{operation.method.upper()} {operation.path}: {problem}")

    each()


def _bring_near(case: Any) -> None:
    """Let the ids of a case be those of things that exist: a number drawn at random is none of them."""
    for name in case.path_parameters or {}:
        case.path_parameters[name] = 1
    for part in (case.body, case.query):
        if isinstance(part, dict):
            part.update({name: 1 for name in part if name.endswith("_id") and isinstance(part[name], int)})


def _problem(case: Any, answer: Any) -> str:
    if answer.status_code >= 500:
        return f"{answer.status_code} for {case.as_curl_command()}"
    try:
        case.validate_response(answer, checks=CHECKS)
    except (AssertionError, BaseExceptionGroup) as failed:
        return f"{failed} for {case.as_curl_command()}"
    return ""


def _checks() -> list[Any]:
    from schemathesis.specs.openapi import checks

    return [
        checks.status_code_conformance, checks.content_type_conformance, checks.response_schema_conformance,
        checks.response_headers_conformance,
    ]  # fmt: skip


CHECKS = _checks()


def test_nothing_it_throws_breaks_the_service_or_is_answered_off_the_record(fuzzed: tuple[Any, str]) -> None:
    schema, secret = fuzzed
    wrong: list[str] = []
    statuses: Counter[int] = Counter()
    thrown = 0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for operation in _operations(schema):
            thrown += 1
            _throw(operation, secret, wrong, statuses)
    assert thrown >= len(api_routes()) - len(LEFT_OUT)
    assert sum(number for status, number in statuses.items() if status < 300) > thrown / 2  # it gets through the door
    assert wrong == []


def test_it_would_notice_an_answer_off_the_record(
    app: Flask, fuzzed: tuple[Any, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(app.view_functions, "people.get_me", lambda **_: {"surprise": 1})
    schema, secret = fuzzed
    wrong: list[str] = []
    for operation in _operations(schema):
        if operation.path == "/api/v1/me":
            _throw(operation, secret, wrong, Counter())
    assert wrong


def test_what_is_left_out_exists() -> None:
    assert {(route.method, route.documented) for route in api_routes()} >= LEFT_OUT
