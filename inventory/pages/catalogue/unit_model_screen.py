"""Everything known about a unit model: the parts that go into it, the lessons, and the jobs it came in for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from peewee import fn

from inventory.domain.catalogue import parts
from inventory.domain.catalogue.unit_model_parts import parts_of_model
from inventory.domain.common.records import JobRecord, LessonRecord, UnitModelRecord, from_row
from inventory.domain.movements.substitute_records import ModelPart
from inventory.store.tables import Job, PartFit

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
    found = parts.unit_model(unit_model_id)
    past = Job.select().where(Job.unit_model == unit_model_id)
    return UnitModelScreen(
        found,
        tuple(parts_of_model(unit_model_id)),
        tuple(parts.lessons(unit_model_id=unit_model_id)),
        tuple(
            from_row(JobRecord, one, unit_model=found.name) for one in past.order_by(Job.id.desc()).limit(RECENT_JOBS)
        ),
        past.count(),
    )


@dataclass(frozen=True)
class ListedUnitModel:
    """A unit model of the list: how often it came in, and how many parts are known to fit."""

    model: UnitModelRecord
    jobs: int
    parts: int


def unit_model_list(find: str = "") -> list[ListedUnitModel]:
    """Return the unit models whose name holds *find*, by name."""
    jobs = _counts_by_model(Job.select(Job.unit_model, fn.COUNT(Job.id)).group_by(Job.unit_model))
    fits = _counts_by_model(PartFit.select(PartFit.unit_model, fn.COUNT(PartFit.part)).group_by(PartFit.unit_model))
    return [ListedUnitModel(model, jobs.get(model.id, 0), fits.get(model.id, 0)) for model in parts.unit_models(find)]


def _counts_by_model(query: Any) -> dict[int, int]:
    return dict(query.tuples())
