"""Every HTTP error of the API is a problem with fixed keys and a sentence that says what to do."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from inventory.store import connection
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_job, a_stocked_part
from tests.http_clients import ApiClient

JSON = {"Content-Type": "application/json"}


@pytest.mark.parametrize("body", [b"{", b"[1,", b"\xff\xfe", b'{"number": NaN}', b'{"a": ' * 50_000])
def test_400_for_a_body_that_is_no_json(body: bytes, as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/parts", data=body, headers=JSON), 400, "bad_json")


def test_401_for_a_stranger(client: FlaskClient) -> None:
    checked_problem(client.get(f"{API}/parts"), 401, "not_signed_in")


def test_403_for_a_role_that_does_not_reach(as_viewer: ApiClient) -> None:
    checked_problem(as_viewer.post(f"{API}/parts", json={}), 403, "role")


@pytest.mark.parametrize(
    "path", ["/nothing", "/parts/none", "/parts/-1", "/parts/9999999999999999999999", "/parts/1.5"]
)
def test_404_for_an_address_there_is_not(path: str, as_tech: ApiClient) -> None:
    checked_problem(as_tech.get(API + path), 404, "http_404")


@pytest.mark.parametrize("key", [0, 999, 2**31, 10**17])
def test_404_for_an_id_there_is_not(key: int, as_tech: ApiClient) -> None:
    assert str(key) in checked_problem(as_tech.get(f"{API}/parts/{key}"), 404, "not_found")["detail"]


def test_405_names_the_methods_that_there_are(as_tech: ApiClient) -> None:
    answer = as_tech.delete(f"{API}/parts")
    checked_problem(answer, 405, "http_405")
    assert {"GET", "POST"} <= set(answer.headers["Allow"].split(", "))


def test_409_for_what_the_bench_is_not_in_a_state_for(as_tech: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(1)
    data = {"bin_id": bin_.id, "job_id": a_job().id, "quantity": 2}
    assert checked_problem(as_tech.post(f"{API}/pulls", json=data), 409, "not_enough")["available"] == 1


def test_412_for_an_edit_of_what_has_changed(as_tech: ApiClient) -> None:
    bin_ = a_bin()
    response = as_tech.patch(f"{API}/bins/{bin_.id}", json={"note": "x"}, headers={"If-Match": '"1-old"'})
    checked_problem(response, 412, "stale")


@pytest.mark.parametrize("path", ["/parts", "/pulls", "/lots/1/hold"])
def test_413_for_ten_megabytes(path: str, as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(API + path, data=b" " * 10_000_000, headers=JSON), 413, "http_413")


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "application/xml", ""])
def test_415_for_a_body_of_another_kind(kind: str, as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/parts", data=b'{"a": 1}', headers={"Content-Type": kind}), 415, "not_json")


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ([], "body"), ("text", "body"), ({}, "number"), ({"number": 7}, "number"),
        ({"number": "X", "unknown": 1}, "unknown"), ({"number": "x" * 5000}, "number"),
        ({"number": "a\x00b"}, "number"),
    ],
)  # fmt: skip
def test_422_names_what_cannot_be_right(body: Any, field: str, as_tech: ApiClient) -> None:
    assert field in checked_problem(as_tech.post(f"{API}/parts", json=body), 422)["errors"]


@pytest.mark.parametrize("asked", ["unknown=1", "limit=0", "limit=x", "limit=1&limit=2", "after=%00", "limit=1e3"])
def test_422_for_a_query_that_cannot_be_right(asked: str, as_tech: ApiClient) -> None:
    checked_problem(as_tech.get(f"{API}/parts?{asked}"), 422)


def test_428_for_an_edit_that_does_not_say_of_what(as_tech: ApiClient) -> None:
    checked_problem(as_tech.patch(f"{API}/bins/{a_bin().id}", json={"note": "x"}), 428, "if_match_missing")


def test_500_says_that_nothing_was_changed_and_no_more(app: Flask, as_tech: ApiClient) -> None:
    app.config["PROPAGATE_EXCEPTIONS"] = False
    connection.execute("DROP TABLE lessons")  # a database that is not what it should be
    answer = as_tech.post(f"{API}/lessons", json={"text": "x", "part_id": a_stocked_part()[0].id})
    assert answer.status_code in (500, 503)
    problem = checked_problem(answer, answer.status_code)
    assert "nothing was changed" in problem["detail"].lower()
    assert "lessons" not in answer.text


def test_an_unexpected_error_is_a_500(app: Flask, as_tech: ApiClient, monkeypatch: pytest.MonkeyPatch) -> None:
    app.config["PROPAGATE_EXCEPTIONS"] = False

    def broken() -> None:
        raise ZeroDivisionError("inner workings")

    monkeypatch.setitem(app.view_functions, "people.get_me", broken)
    answer = as_tech.get(f"{API}/me")
    checked_problem(answer, 500, "unexpected")
    assert "inner workings" not in answer.text


NASTY = ["'; DROP TABLE parts; --", "<script>alert(1)</script>", "%s%n{{7*7}}${7*7}", "🔧" * 20]


@pytest.mark.parametrize("text", NASTY)
def test_sql_and_html_are_text_like_any_other(text: str, as_tech: ApiClient) -> None:
    response = as_tech.post(f"{API}/parts", json={"number": text[:30], "name": text, "kind": "other", "note": text})
    assert response.status_code == 201, response.text
    assert as_tech.get(response.headers["Location"]).get_json()["note"] == text
    assert as_tech.get(f"{API}/find", query_string={"text": text}).status_code in (200, 422)
