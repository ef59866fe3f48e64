"""/lessons: sentences worth seeing again."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.part_schemas import LessonIn, LessonOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.catalogue import parts as stock
from inventory.domain.common.records import LessonRecord
from inventory.web.access import caller

resource = Resource("lessons", "Sentences worth seeing again when the same part or unit model is on the bench.")
LESSON = LessonOut()


@resource.get("/parts/<key:part_id>/lessons")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LESSON, key=lambda one: one.id, of=stock.part)
def part_lessons(asked: dict[str, Any], part_id: int) -> list[LessonRecord]:
    """List the lessons about a part, newest first."""
    return stock.lessons(part_id=part_id)


@resource.get("/unit-models/<key:unit_model_id>/lessons")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LESSON, key=lambda one: one.id, of=stock.unit_model)
def unit_model_lessons(asked: dict[str, Any], unit_model_id: int) -> list[LessonRecord]:
    """List the lessons about a unit model, newest first."""
    return stock.lessons(unit_model_id=unit_model_id)


@resource.post("/lessons")
@resource.arguments(LessonIn())
@resource.response(201, LESSON, entity=False)
def add_lesson(given: dict[str, Any]) -> LessonRecord:
    """Keep a lesson."""
    return stock.add_lesson(**given, by=caller().id)
