"""Everything known about a unit model: the parts that go into it, the lessons, and the jobs it came in for."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.stock import parts
from inventory.stock.records import JobRecord, LessonRecord, PartRecord, Stock, UnitModelRecord, read
from inventory.stock.rules import row
from inventory.stock.stocktaking import stocks
from inventory.store.tables import Job, UnitModel

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
    found = read(UnitModelRecord, row(UnitModel, unit_model_id, "unit model"))
    fitting = parts.parts(fits=unit_model_id, limit=MOST_PARTS).items
    held = stocks([one.id for one in fitting])
    past = Job.select().where(Job.unit_model == unit_model_id)
    return AtModel(
        found, tuple(FittingPart(one, held.get(one.id, Stock())) for one in fitting),
        tuple(parts.lessons(unit_model_id=unit_model_id)),
        tuple(read(JobRecord, one, unit_model=found.name) for one in past.order_by(Job.id.desc()).limit(RECENT_JOBS)),
        past.count(),
    )  # fmt: skip
