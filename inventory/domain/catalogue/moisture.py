"""Moisture-sensitive parts: how long a lot's bag was open, and its remaining floor life."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.records import from_row
from inventory.domain.common.validation import get_row
from inventory.reckoning.stock.shelf_life import BagOpenPeriod, FloorLife, floor_life
from inventory.store.tables import BagOpening, Bake, Part, PartStorage


@dataclass(frozen=True)
class PartStorageRecord:
    """Storage limits of a part. ``days_opened``: life after opening; ``moisture_level``: of IPC/JEDEC J-STD-020."""

    part_id: int
    days_opened: int | None = None
    moisture_level: str = ""
    label_hours: float | None = None


def part_storage(part_id: int) -> PartStorageRecord:
    """Return the storage limits of a part."""
    get_row(Part, part_id, "part")
    row = PartStorage.get_or_none(PartStorage.part == part_id)
    return PartStorageRecord(part_id) if row is None else from_row(PartStorageRecord, row)


def current_bag_opening(lot_id: int) -> Any:
    """Return the row of the current bag opening of a lot, or None."""
    return BagOpening.get_or_none(BagOpening.lot == lot_id, BagOpening.closed.is_null())


def floor_life_of(lot_id: int, known: PartStorageRecord) -> tuple[FloorLife | None, datetime | None]:
    """Return a lot's remaining floor life (None: not sensitive) and when it was last baked (None: never)."""
    if not known.moisture_level:
        return None, None
    last = Bake.select().where(Bake.lot == lot_id).order_by(Bake.at.desc()).first()
    baked = None if last is None else last.at
    bags = BagOpening.select().where(BagOpening.lot == lot_id)
    since = [_opening_since(bag, baked) for bag in bags if baked is None or bag.closed is None or bag.closed > baked]
    if known.moisture_level == "6" and baked is not None:  # baked: from now on the label's hours are its limit
        return floor_life("3", since, clock.now(), known.label_hours), baked
    return floor_life(known.moisture_level, since, clock.now(), known.label_hours), baked


def _opening_since(bag: Any, baked: datetime | None) -> BagOpenPeriod:
    return BagOpenPeriod(bag.opened if baked is None else max(bag.opened, baked), bag.closed)


def moisture_warning(lot: Any) -> str:
    """Return a warning when an opened lot must be baked before soldering, else an empty string."""
    if lot.opened is None:  # as most are: its bag was never open
        return ""
    floor, _ = floor_life_of(lot.id, part_storage(lot.part_id))
    return f"Lot {lot.code}: {floor.words}." if floor is not None and floor.bake else ""
