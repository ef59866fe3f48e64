"""Stock and time: life after opening, lots past their date before they are used up, floor life."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from inventory.domain.catalogue.lots import lot
from inventory.domain.catalogue.moisture import PartStorageRecord, current_bag_opening, floor_life_of, part_storage
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, invalid_field
from inventory.domain.common.records import LotRecord, PartRecord, from_row
from inventory.domain.common.validation import clean_text, get_row, update_versioned, validated_number
from inventory.domain.reorder.reorder_list import advice_for_parts
from inventory.reckoning.common.time_units import DAYS_PER_YEAR
from inventory.reckoning.stock.shelf_life import FLOOR_LIFE_HOURS, FloorLife, LotOutlook, ShelfLot, lot_outlooks
from inventory.store.connection import execute, transaction
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import BagOpening, Bake, Lot, Part, PartStorage

MOISTURE_LEVELS = ("", *FLOOR_LIFE_HOURS)
MAX_DAYS_OPENED = 3650
TIME_ZONE_TOLERANCE = timedelta(days=1)  # a day noted in the bench's own time zone may be ahead of UTC's


@dataclass(frozen=True)
class LotDates:
    """A lot's last good day, and how much of its floor life is gone (None: not moisture-sensitive)."""

    lot: LotRecord
    keeping: PartStorageRecord
    until: date | None
    past: bool
    floor: FloorLife | None
    bag_open: bool
    baked: datetime | None


@dataclass(frozen=True)
class ExpiringLot:
    """A lot that has a last good day, and what becomes of it at the present rate of use."""

    part: PartRecord
    lot: LotRecord
    quantity: int  # base units left
    until: date
    days_left: int
    share_left: float  # share of what is here now that will be left then
    use_a_day: float  # base units of the part
    words: str


# ---- how a part keeps ------------------------------------------------------------------------------------


def set_part_storage(
    part_id: int, *, days_opened: int | None = None, moisture_level: str = "", label_hours: float | None = None
) -> PartStorageRecord:
    """Set how long a part keeps once opened (days), and how moisture-sensitive it is; opened lots are updated.

    *label_hours* is the floor life on the label, needed for level 6.
    """
    with transaction():
        get_row(Part, part_id, "part")
        days = _validated_days_opened(days_opened)
        level, hours = _validated_moisture_level(moisture_level), _validated_label_hours(label_hours, moisture_level)
        columns = {"days_opened": days, "moisture_level": level, "label_hours": hours}
        row = PartStorage.get_or_none(PartStorage.part == part_id)
        if row is None:
            PartStorage.create(part=part_id, **columns)
        else:
            PartStorage.update(**columns).where(PartStorage.id == row.id).execute()
        for lot in Lot.select().where(Lot.part == part_id, Lot.opened.is_null(False)):
            update_versioned(lot, "lot", None, open_until=_open_until(lot.opened, days))
        return part_storage(part_id)


def _validated_days_opened(days: Any) -> int | None:
    sentence = f"The life after opening is 1 to {MAX_DAYS_OPENED} days."
    days_opened: int | None = validated_number(days, "days_opened", 1, MAX_DAYS_OPENED, sentence, optional=True)
    return days_opened


def _validated_moisture_level(level: Any) -> str:
    if level not in MOISTURE_LEVELS:
        raise invalid_field(
            "moisture_level", f"The moisture level is one of {', '.join(FLOOR_LIFE_HOURS)}, or empty."
        )
    return str(level)


def _validated_label_hours(hours: Any, level: str) -> float | None:
    if hours is None:
        if level == "6":
            raise invalid_field("label_hours", "Level 6 has its hours on the label: type them.")
        return None
    if isinstance(hours, bool) or not isinstance(hours, int | float) or not 0 < hours <= 100_000:
        raise invalid_field("label_hours", "The hours on the label are more than 0, such as 6.")
    return float(hours)


# ---- opening ---------------------------------------------------------------------------------------------


def open_lot(lot_id: int, day: date | None = None, *, by: int | None = None) -> LotDates:
    """Note that a lot was opened (*day*: today); the floor life of a moisture-sensitive one begins to run.

    Raises Conflict when it is open already, Invalid for a day in the future or before the lot came in.
    """
    with transaction():
        row = get_row(Lot, lot_id, "lot")
        storage = part_storage(row.part_id)
        if storage.moisture_level and current_bag_opening(lot_id) is None:
            BagOpening.create(lot=lot_id, opened=clock.now(), person=by)
        elif row.opened is not None:
            raise Conflict(f"This lot was opened on {row.opened} already.", reason="open_already")
        if row.opened is None:
            opened = _opening_day(day or clock.today(), row)
            update_versioned(row, "lot", None, opened=opened, open_until=_open_until(opened, storage.days_opened))
        return lot_dates(lot_id)


def _opening_day(day: date, lot: Any) -> date:
    if day > clock.today() + TIME_ZONE_TOLERANCE:
        raise invalid_field("day", f"{day} is still to come: say the day on which it was opened.")
    if day < lot.received.date() - TIME_ZONE_TOLERANCE:
        raise invalid_field(
            "day", f"The lot came in on {lot.received.date()}: it cannot have been opened here before."
        )
    return day


def _open_until(opened: date, days: int | None) -> date | None:
    return None if days is None else opened + timedelta(days=days)


def undo_open_lot(lot_id: int) -> LotDates:
    """Take back that a lot was opened, noted by mistake; its bag's times stay."""
    with transaction():
        row = get_row(Lot, lot_id, "lot")
        if row.opened is None:
            raise Conflict("This lot is not noted as opened.", reason="not_open")
        update_versioned(row, "lot", None, opened=None, open_until=None)
        return lot_dates(lot_id)


def close_bag(lot_id: int, *, by: int | None = None) -> LotDates:
    """Note that a lot went back into its bag or dry storage: its floor life stops running."""
    with transaction():
        get_row(Lot, lot_id, "lot")
        bag = current_bag_opening(lot_id)
        if bag is None:
            raise Conflict("Its bag is closed already: open it first.", reason="bag_closed")
        BagOpening.update(closed=clock.now(), closed_by=by).where(BagOpening.id == bag.id).execute()
        return lot_dates(lot_id)


def record_bake(lot_id: int, *, note: str = "", by: int | None = None) -> LotDates:
    """Note that a lot was baked dry, as the standard says for it: its floor life begins anew."""
    with transaction():
        row = get_row(Lot, lot_id, "lot")
        if not part_storage(row.part_id).moisture_level:
            raise Conflict("This part is not moisture-sensitive: there is nothing to bake.", reason="not_sensitive")
        Bake.create(lot=lot_id, at=clock.now(), person=by, note=clean_text(note, "note", 300))
        return lot_dates(lot_id)


# ---- how a lot stands ------------------------------------------------------------------------------------


def lot_dates(lot_id: int) -> LotDates:
    """Return how a lot stands: its last good day, and its floor-life clock if it is moisture-sensitive."""
    record = lot(lot_id)
    storage = part_storage(record.part_id)
    until = record.until
    floor, baked = floor_life_of(lot_id, storage)
    return LotDates(
        record, storage, until, until is not None and until < clock.today(), floor,
        current_bag_opening(lot_id) is not None, baked,
    )  # fmt: skip


def open_bags() -> list[LotDates]:
    """Return the lots whose moisture barrier bag is open now, the one with the least floor life left first."""
    bags = [lot_dates(bag_opening.lot_id) for bag_opening in BagOpening.select().where(BagOpening.closed.is_null())]
    return sorted(bags, key=lambda bag: (bag.floor is None or bag.floor.left is None, _hours_left(bag)))


def _hours_left(bag: LotDates) -> float:
    return bag.floor.left if bag.floor is not None and bag.floor.left is not None else 0.0


# ---- what will be past its date --------------------------------------------------------------------------

_DATED = f"""
SELECT l.part_id, h.lot_id, SUM(h.quantity) FROM {IN_BINS} h JOIN lots l ON l.id = h.lot_id
WHERE l.part_id IN (SELECT part_id FROM lots WHERE best_before IS NOT NULL OR open_until IS NOT NULL)
  AND NOT l.on_hold AND NOT h.spare GROUP BY l.part_id, h.lot_id
"""


def expiring_lots(within_days: int | None = None) -> list[ExpiringLot]:
    """Return the lots with a last good day that are past it, or will not be used up by then, the first due first.

    *within_days* leaves out those due later. The use of a part is its yearly use as the reorder list reckons it; a
    part's lots are used one after the other in picking order.
    """
    quantities: dict[int, dict[int, int]] = defaultdict(dict)
    for part_id, lot_id, quantity in execute(_DATED).fetchall():
        quantities[int(part_id)][int(lot_id)] = int(quantity)
    if not quantities:
        return []
    advices = advice_for_parts(quantities)
    candidates = [
        expiring for part_id, left in quantities.items() for expiring in _expiring_of_part(advices[part_id], left)
    ]
    last = None if within_days is None else clock.today() + timedelta(days=within_days)
    return sorted(
        (expiring for expiring in candidates if last is None or expiring.until <= last),
        key=lambda expiring: (expiring.until, expiring.lot.id),
    )


def _expiring_of_part(advice: Any, left: dict[int, int]) -> list[ExpiringLot]:
    lots = {lot.id: from_row(LotRecord, lot) for lot in Lot.select().where(Lot.id << list(left))}
    use = advice.yearly_use / DAYS_PER_YEAR
    shelf = [
        ShelfLot(f"{lot.id:012}", lot.received.date(), float(left[lot.id]), lot.until) for lot in lots.values()
    ]  # fmt: skip
    outlooks = lot_outlooks(shelf, use, clock.today())
    return [
        _expiring_lot(advice.part, lots[int(outlook.lot.code)], left, outlook, use)
        for outlook in outlooks
        if _expires_unused(outlook)
    ]


def _expires_unused(outlook: LotOutlook) -> bool:
    return outlook.days_left is not None and (outlook.days_left < 0 or outlook.share_left > 0.0)


def _expiring_lot(
    part: PartRecord, lot: LotRecord, left: dict[int, int], outlook: LotOutlook, use: float
) -> ExpiringLot:
    until = lot.until or date.max
    return ExpiringLot(part, lot, left[lot.id], until, outlook.days_left or 0, outlook.share_left, use, outlook.words)


@dataclass(frozen=True)
class DatesScreen:
    """What the page of dates shows: lots that will not be used up in time, and open bags."""

    expiring: tuple[ExpiringLot, ...]
    bags: tuple[tuple[PartRecord, LotDates], ...]


def dates_screen() -> DatesScreen:
    """Gather what the page of dates shows."""
    bags = open_bags()
    parts = {
        part.id: from_row(PartRecord, part)
        for part in Part.select().where(Part.id << [bag.lot.part_id for bag in bags])
    }
    return DatesScreen(tuple(expiring_lots()), tuple((parts[bag.lot.part_id], bag) for bag in bags))
