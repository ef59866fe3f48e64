"""Moisture-sensitive parts: how long a lot's bag was open, and how much of its floor life is left."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.records import read
from inventory.domain.common.validation import row
from inventory.reckoning.stock.shelf_life import FloorLife, Opening, floor_life
from inventory.store.tables import BagOpening, Bake, Part, PartKeeping


@dataclass(frozen=True)
class KeepingRecord:
    """How a part keeps. ``days_opened``: life after opening; ``moisture_level``: of IPC/JEDEC J-STD-020."""

    part_id: int
    days_opened: int | None = None
    moisture_level: str = ""
    label_hours: float | None = None


def keeping(part_id: int) -> KeepingRecord:
    """Return how a part keeps."""
    row(Part, part_id, "part")
    found = PartKeeping.get_or_none(PartKeeping.part == part_id)
    return KeepingRecord(part_id) if found is None else read(KeepingRecord, found)


def open_bag(lot_id: int) -> Any:
    """Return the row of the time since which a lot's bag is open, or None."""
    return BagOpening.get_or_none(BagOpening.lot == lot_id, BagOpening.closed.is_null())


def floor_of(lot_id: int, known: KeepingRecord) -> tuple[FloorLife | None, datetime | None]:
    """Return how much floor life a lot has left, and when it was last baked (None: not sensitive; never)."""
    if not known.moisture_level:
        return None, None
    last = Bake.select().where(Bake.lot == lot_id).order_by(Bake.at.desc()).first()
    baked = None if last is None else last.at
    bags = BagOpening.select().where(BagOpening.lot == lot_id)
    since = [_since(one, baked) for one in bags if baked is None or one.closed is None or one.closed > baked]
    if known.moisture_level == "6" and baked is not None:  # baked: from now on the label's hours are its limit
        return floor_life("3", since, clock.now(), known.label_hours), baked
    return floor_life(known.moisture_level, since, clock.now(), known.label_hours), baked


def _since(bag: Any, baked: datetime | None) -> Opening:
    return Opening(bag.opened if baked is None else max(bag.opened, baked), bag.closed)


def warning(found: Any) -> str:
    """Say that a lot that was opened must be baked before it is soldered; empty when it need not be."""
    if found.opened is None:  # as most are: its bag was never open
        return ""
    floor, _ = floor_of(found.id, keeping(found.part_id))
    return f"Lot {found.code}: {floor.words}." if floor is not None and floor.bake else ""
