"""Everything known about a unit model: the parts that go into it, the lessons, and the jobs it came in for."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.catalogue import parts
from inventory.domain.catalogue.unit_model_parts import ModelPart, counts_by_model, parts_of_model
from inventory.domain.common.records import JobRecord, LessonRecord, UnitModelRecord
from inventory.domain.jobs.jobs import jobs_of_model

RECENT_JOBS = 20


@dataclass(frozen=True)
class UnitModelScreen:
    """A unit model with its parts, lessons and jobs, newest first."""

    model: UnitModelRecord
    fits: tuple[ModelPart, ...]  # those that most jobs used first
    lessons: tuple[LessonRecord, ...]
    jobs: tuple[JobRecord, ...]
    number_of_jobs: int


def unit_model_screen(unit_model_id: int) -> UnitModelScreen:
    """Gather what is known about a unit model."""
    model = parts.unit_model(unit_model_id)
    fits, lessons = parts_of_model(unit_model_id), parts.lessons(unit_model_id=unit_model_id)
    jobs, number_of_jobs = jobs_of_model(unit_model_id, RECENT_JOBS)
    return UnitModelScreen(model, tuple(fits), tuple(lessons), tuple(jobs), number_of_jobs)


@dataclass(frozen=True)
class ListedUnitModel:
    """A unit model of the list: how often it came in, and how many parts are known to fit."""

    model: UnitModelRecord
    jobs: int
    parts: int


def unit_model_list(find: str = "") -> list[ListedUnitModel]:
    """Return the unit models whose name holds *find*, by name."""
    jobs, fits = counts_by_model()
    return [ListedUnitModel(model, jobs.get(model.id, 0), fits.get(model.id, 0)) for model in parts.unit_models(find)]
