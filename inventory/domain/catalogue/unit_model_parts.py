"""Which parts go into a unit model: those noted to fit, and those that its past jobs used."""

from __future__ import annotations

from collections import defaultdict
from statistics import median_low
from typing import Any

from peewee import fn

from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common.records import BinRecord, PartRecord, from_row
from inventory.domain.movements.substitute_records import ModelPart
from inventory.store import job_use
from inventory.store.connection import execute, run_for
from inventory.store.fields import from_micros
from inventory.store.tables import Bin, Job, Part, PartFit

# what each job of the model has of each part
_USED_BY_JOBS = f"""
SELECT m.part_id, m.job_id, -SUM(m.quantity), MAX(m.at) FROM {job_use.LINES} JOIN jobs j ON j.id = m.job_id
WHERE j.unit_model_id = ? AND {job_use.IS_USE}
GROUP BY m.part_id, m.job_id HAVING SUM(m.quantity) < 0
"""
_BINS_BY_PART = """
SELECT b.part_id, b.bin_id FROM balances b JOIN lots l ON l.id = b.lot_id
WHERE b.quantity > 0 AND NOT l.on_hold AND b.part_id IN ({ids})
UNION SELECT p.part_id, p.bin_id FROM pieces p JOIN lots l ON l.id = p.lot_id
WHERE p.bin_id IS NOT NULL AND NOT p.spare AND NOT l.on_hold AND p.part_id IN ({ids})
ORDER BY 1, 2
"""


def parts_of_model(unit_model_id: int) -> list[ModelPart]:
    """Return the parts, retired ones left out, that go into a unit model: what most of its jobs used first."""
    used = _uses_by_part(unit_model_id)
    noted = {part_fit.part_id for part_fit in PartFit.select(PartFit.part).where(PartFit.unit_model == unit_model_id)}
    ids = sorted(used.keys() | noted)
    rows = [part for part in Part.select().where(Part.id << ids) if not part.retired]
    held, places = stock_by_part(ids), _bin_by_part(ids)
    found = [
        _record(row, row.id in noted, used.get(row.id, []), held[row.id].on_shelf if row.id in held else 0, places)
        for row in rows
    ]
    return sorted(found, key=lambda one: (-one.jobs, not one.noted, one.part.number))


def counts_by_model() -> tuple[dict[int, int], dict[int, int]]:
    """Return by unit model how many jobs it came in for, and how many parts are noted to fit."""
    jobs: Any = Job.select(Job.unit_model, fn.COUNT(Job.id)).group_by(Job.unit_model)
    fits: Any = PartFit.select(PartFit.unit_model, fn.COUNT(PartFit.part)).group_by(PartFit.unit_model)
    return dict(jobs.tuples()), dict(fits.tuples())


def _uses_by_part(unit_model_id: int) -> dict[int, list[tuple[int, int]]]:
    """Return by part how much each job used, and when last."""
    found: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for part, _, quantity, at in execute(_USED_BY_JOBS, unit_model_id).fetchall():
        found[int(part)].append((int(quantity), int(at)))
    return found


def _bin_by_part(ids: list[int]) -> dict[int, BinRecord]:
    where: dict[int, int] = {}
    for part, bin_ in run_for(_BINS_BY_PART, ids):
        where.setdefault(int(part), int(bin_))
    bins = {bin_.id: from_row(BinRecord, bin_) for bin_ in Bin.select().where(Bin.id << list(set(where.values())))}
    return {part: bins[bin_] for part, bin_ in where.items()}


def _record(
    part: Any, noted: bool, used: list[tuple[int, int]], on_shelf: int, places: dict[int, BinRecord]
) -> ModelPart:
    last = max((at for _, at in used), default=None)
    return ModelPart(
        from_row(PartRecord, part), noted, len(used), None if last is None else from_micros(last),
        median_low([quantity for quantity, _ in used]) if used else 0, on_shelf,
        places.get(part.id) if on_shelf else None,
    )  # fmt: skip
