"""Lessons and unit models over REST."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.store.tables import Lesson, UnitModel
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_job, a_part
from tests.http_clients import ApiClient


def test_a_lesson_is_kept_with_its_part_and_its_model(as_tech: ApiClient) -> None:
    part = a_part().id
    model = as_tech.post(f"{API}/unit-models", json={"name": "Tern 12 powered speaker"}).get_json()["id"]
    data = {"text": "Reflow pin 3 too.", "part_id": part, "unit_model_id": model, "job_id": a_job().id}
    body = as_tech.post(f"{API}/lessons", json=data).get_json()
    assert body == {**body, **data, "person": as_tech.person.shown_as}
    for address in (f"parts/{part}", f"unit-models/{model}"):
        assert as_tech.get(f"{API}/{address}/lessons").get_json()["items"] == [body]
    assert Lesson.get_by_id(body["id"]).text == "Reflow pin 3 too."


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ({"text": "About nothing."}, 422), ({"text": " ", "part_id": 1}, 422), ({"part_id": 1}, 422),
        ({"text": "x" * 1001, "part_id": 1}, 422), ({"text": "x", "part_id": 999}, 404),
        ({"text": "x", "unit_model_id": 999}, 404),
    ],
)  # fmt: skip
def test_one_about_nothing_is_not_kept(sent: dict[str, Any], status: int, as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/lessons", json=sent), status)
    assert not Lesson.select().exists()


def test_a_unit_model_is_known_once(as_tech: ApiClient) -> None:
    first, again = (as_tech.post(f"{API}/unit-models", json={"name": "Heron wash"}) for _ in range(2))
    assert first.get_json() == again.get_json() == as_tech.get(first.headers["Location"]).get_json()
    assert UnitModel.select().where(UnitModel.name == "Heron wash").count() == 1
    assert len(as_tech.get(f"{API}/unit-models?find=heron").get_json()["items"]) == 1
    assert as_tech.get(f"{API}/unit-models?find=crane").get_json()["items"] == []
