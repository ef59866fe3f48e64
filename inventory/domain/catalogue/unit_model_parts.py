"""The parts of a unit model: those marked as fitting, and those that its past jobs used."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from statistics import median_low
from typing import Annotated, Any

from peewee import fn

from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common.described import About
from inventory.domain.common.records import BinRecord, PartRecord, StockTotals, from_row
from inventory.store import job_use
from inventory.store.connection import execute, run_for
from inventory.store.fields import from_micros
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Bin, Job, Part, PartFit


@dataclass(frozen=True)
class ModelPart:
    """A part that goes into a unit model: noted so, or used by its jobs; how many there are, and where."""

    part: Annotated[PartRecord, "The part."]
    noted: Annotated[bool, "It is noted to fit; else only past jobs say so."]
    jobs: Annotated[int, "How many jobs of the model used it."]
    last: Annotated[datetime | None, "When last."]
    usual: Annotated[int, About("How many base units such a job uses as a rule (the lower median).", maximum=None)]
    on_shelf: Annotated[int, About("How many there are to be fitted, in base units.", maximum=None)]
    bin: Annotated[BinRecord | None, "Where some can be taken."]


# what each job of the model has of each part
_USED_BY_JOBS = f"""
SELECT m.part_id, m.job_id, -SUM(m.quantity), MAX(m.at) FROM {job_use.LINES} JOIN jobs j ON j.id = m.job_id
WHERE j.unit_model_id = ? AND {job_use.IS_USE}
GROUP BY m.part_id, m.job_id HAVING SUM(m.quantity) < 0
"""
_FIRST_BINS = f"""
SELECT s.part_id, MIN(s.bin_id) FROM {IN_BINS} s JOIN lots l ON l.id = s.lot_id
WHERE NOT s.spare AND NOT l.on_hold AND s.part_id IN ({{ids}}) GROUP BY s.part_id
"""


def parts_of_model(unit_model_id: int) -> list[ModelPart]:
    """Return the parts of a unit model that are not retired, those that most of its jobs used first."""
    used = _uses_by_part(unit_model_id)
    noted = {fit.part_id for fit in PartFit.select(PartFit.part).where(PartFit.unit_model == unit_model_id)}
    ids = sorted(used.keys() | noted)
    stock, bins = stock_by_part(ids), _bin_by_part(ids)
    parts = [
        _record(row, row.id in noted, used.get(row.id, []), stock.get(row.id, StockTotals()).on_shelf, bins)
        for row in Part.select().where(Part.id << ids, ~Part.retired)
    ]
    return sorted(parts, key=lambda part: (-part.jobs, not part.noted, part.part.number))


def counts_by_model() -> tuple[dict[int, int], dict[int, int]]:
    """Return by unit model how many jobs it came in for, and how many parts are noted to fit."""
    jobs: Any = Job.select(Job.unit_model, fn.COUNT(Job.id)).group_by(Job.unit_model)
    fits: Any = PartFit.select(PartFit.unit_model, fn.COUNT(PartFit.part)).group_by(PartFit.unit_model)
    return dict(jobs.tuples()), dict(fits.tuples())


def _uses_by_part(unit_model_id: int) -> dict[int, list[tuple[int, int]]]:
    """Return by part how much each job used, and when last (microseconds)."""
    uses: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for part, _, quantity, last in execute(_USED_BY_JOBS, unit_model_id).fetchall():
        uses[int(part)].append((int(quantity), int(last)))
    return uses


def _bin_by_part(ids: list[int]) -> dict[int, BinRecord]:
    """Return by part the first bin that holds some to be fitted."""
    first = dict(run_for(_FIRST_BINS, ids))
    bins = {bin_.id: from_row(BinRecord, bin_) for bin_ in Bin.select().where(Bin.id << list(set(first.values())))}
    return {part: bins[bin_id] for part, bin_id in first.items()}


def _record(
    part: Any, noted: bool, uses: list[tuple[int, int]], on_shelf: int, bins: dict[int, BinRecord]
) -> ModelPart:
    last = max((moment for _, moment in uses), default=None)
    return ModelPart(
        from_row(PartRecord, part), noted, len(uses), None if last is None else from_micros(last),
        median_low([quantity for quantity, _ in uses]) if uses else 0, on_shelf,
        bins.get(part.id) if on_shelf else None,
    )  # fmt: skip
