"""/lessons: sentences worth seeing again."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.part_schemas import LessonIn, LessonOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.catalogue import parts as domain
from inventory.domain.common.records import LessonRecord
from inventory.web.access import current_person

resource = Resource("lessons", "Sentences worth seeing again when the same part or unit model is on the bench.")
LESSON = LessonOut()


@resource.get("/parts/<key:part_id>/lessons")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LESSON, key="id", parent=domain.part)
def part_lessons(params: dict[str, Any], part_id: int) -> list[LessonRecord]:
    """List the lessons about a part, newest first."""
    return domain.lessons(part_id=part_id)


@resource.get("/unit-models/<key:unit_model_id>/lessons")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LESSON, key="id", parent=domain.unit_model)
def unit_model_lessons(params: dict[str, Any], unit_model_id: int) -> list[LessonRecord]:
    """List the lessons about a unit model, newest first."""
    return domain.lessons(unit_model_id=unit_model_id)


@resource.post("/lessons")
@resource.arguments(LessonIn())
@resource.response(201, LESSON, with_etag=False)
def add_lesson(data: dict[str, Any]) -> LessonRecord:
    """Keep a lesson."""
    return domain.add_lesson(**data, by=current_person().id)
