"""Everything known about a unit model: the parts that go into it, the lessons, and the jobs it came in for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from peewee import fn

from inventory.domain.catalogue import parts
from inventory.domain.catalogue.unit_model_parts import parts_of_model
from inventory.domain.common.records import JobRecord, LessonRecord, UnitModelRecord, read
from inventory.domain.movements.substitute_records import ModelPart
from inventory.store.tables import Job, PartFit

RECENT_JOBS = 20


@dataclass(frozen=True)
class AtModel:
    """A unit model with its parts, lessons and jobs, newest first."""

    model: UnitModelRecord
    fits: tuple[ModelPart, ...]  # those that most jobs used first
    lessons: tuple[LessonRecord, ...]
    jobs: tuple[JobRecord, ...]
    number_of_jobs: int


def at_model(unit_model_id: int) -> AtModel:
    """Gather what is known about a unit model."""
    found = parts.unit_model(unit_model_id)
    past = Job.select().where(Job.unit_model == unit_model_id)
    return AtModel(
        found, tuple(parts_of_model(unit_model_id)),
        tuple(parts.lessons(unit_model_id=unit_model_id)),
        tuple(read(JobRecord, one, unit_model=found.name) for one in past.order_by(Job.id.desc()).limit(RECENT_JOBS)),
        past.count(),
    )  # fmt: skip


@dataclass(frozen=True)
class ListedModel:
    """A unit model of the list: how often it came in, and how many parts are known to fit."""

    model: UnitModelRecord
    jobs: int
    parts: int


def model_list(find: str = "") -> list[ListedModel]:
    """Return the unit models whose name holds *find*, by name."""
    jobs = _numbers(Job.select(Job.unit_model, fn.COUNT(Job.id)).group_by(Job.unit_model))
    fits = _numbers(PartFit.select(PartFit.unit_model, fn.COUNT(PartFit.part)).group_by(PartFit.unit_model))
    return [ListedModel(one, jobs.get(one.id, 0), fits.get(one.id, 0)) for one in parts.unit_models(find)]


def _numbers(query: Any) -> dict[int, int]:
    return dict(query.tuples())
