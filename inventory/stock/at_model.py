"""Everything known about a unit model: the parts that go into it, the lessons, and the jobs it came in for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from peewee import fn

from inventory.stock import parts
from inventory.stock.records import JobRecord, LessonRecord, PartRecord, Stock, UnitModelRecord, read
from inventory.stock.stocktaking import stocks
from inventory.store.tables import Job, PartFit

MOST_PARTS = 200
RECENT_JOBS = 20


@dataclass(frozen=True)
class FittingPart:
    """A part that goes into the unit model, and how much there is of it."""

    part: PartRecord
    stock: Stock


@dataclass(frozen=True)
class AtModel:
    """A unit model with its parts, lessons and jobs, newest first."""

    model: UnitModelRecord
    fits: tuple[FittingPart, ...]
    lessons: tuple[LessonRecord, ...]
    jobs: tuple[JobRecord, ...]
    number_of_jobs: int


def at_model(unit_model_id: int) -> AtModel:
    """Gather what is known about a unit model."""
    found = parts.unit_model(unit_model_id)
    fitting = parts.parts(fits=unit_model_id, limit=MOST_PARTS).items
    held = stocks([one.id for one in fitting])
    past = Job.select().where(Job.unit_model == unit_model_id)
    return AtModel(
        found, tuple(FittingPart(one, held.get(one.id, Stock())) for one in fitting),
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
