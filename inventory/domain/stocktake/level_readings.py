"""Stock kept by level: bottles and reels that are read now and then, not counted by the drop.

A reading is booked as a count. A container is *full* base units; of a lot of several, all but the one
in use count as sealed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from typing import Any

from inventory.domain.catalogue.picking import sources
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, bad_field
from inventory.domain.common.quantity_input import quantity
from inventory.domain.common.quantity_text import amount
from inventory.domain.common.records import read
from inventory.domain.common.validation import MOST, row
from inventory.domain.reorder import stock_dates
from inventory.store import ledger
from inventory.store.connection import writing
from inventory.store.tables import Balance, LevelReading, Lot, Movement, Part, PartKeeping

WAYS = ("", "percent", "weight", "length")
CREEP = 0.03  # a level this share of a container above the book is a reading's slip, not more stuff (assumed)
_READING_KEPT = 30


@dataclass(frozen=True)
class WayRecord:
    """How the level of a part is read. ``full``: base units in a container; ``tare``: grams of the empty one."""

    part_id: int
    read_by: str = ""
    full: int | None = None
    tare: float | None = None
    per_gram: float | None = None


@dataclass(frozen=True)
class ReadingOfLevel:
    """A level that was read: what was booked before, what remained, in base units."""

    id: int
    lot_id: int
    at: datetime
    person: str
    read_by: str
    value: str
    before: int
    amount: int
    entry: int | None
    sentence: str

    @property
    def used(self) -> int:
        """How much went since it was read last."""
        return max(0, self.before - self.amount)


# ---- how it is read --------------------------------------------------------------------------------------


def way(part_id: int) -> WayRecord:
    """Return how the level of a part is read."""
    row(Part, part_id, "part")
    found = PartKeeping.get_or_none(PartKeeping.part == part_id)
    return WayRecord(part_id) if found is None else read(WayRecord, found)


def set_way(
    part_id: int, read_by: str, *, full: int | None = None, tare: float | None = None, per_gram: float | None = None
) -> WayRecord:
    """Say how a part's level is read: percent (needs *full*), weight (needs *tare* and *per_gram*) or length.

    Raises Conflict for a part that is not kept by level.
    """
    with writing():
        part = row(Part, part_id, "part")
        if part.kept != "by level":
            raise Conflict(f"{part.name} is not kept by level: it is counted.", reason="not_by_level")
        given = {
            "read_by": _way(read_by), "full": _full(full, read_by),
            "tare": _weight(tare, "tare", read_by), "per_gram": _weight(per_gram, "per_gram", read_by),
        }  # fmt: skip
        if PartKeeping.update(**given).where(PartKeeping.part == part_id).execute() == 0:
            PartKeeping.create(part=part_id, **given)
        return way(part_id)


def _way(read_by: Any) -> str:
    if read_by not in WAYS:
        raise bad_field("read_by", "A level is read by percent, weight or length.")
    return str(read_by)


def _full(full: Any, read_by: str) -> int | None:
    if full is None and read_by != "percent":
        return None
    if isinstance(full, bool) or not isinstance(full, int) or not 0 < full <= MOST:
        raise bad_field("full", "Say what a full container holds, above 0.")
    return full


def _weight(value: Any, name: str, read_by: str) -> float | None:
    if value is None and read_by != "weight":
        return None
    least = 0.0 if name == "tare" else 1e-6
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= 1e6:
        raise bad_field(name, "To read by weight, say what the empty container weighs and what a gram is worth.")
    return float(value)


# ---- reading ---------------------------------------------------------------------------------------------


def read_level(
    lot_id: int, bin_id: int, value: str, *, by: int | None = None, way_of: str | None = None
) -> ReadingOfLevel:  # fmt: skip
    """Note what a lot's level was read at in a bin: "40" per cent, grams with the container, or an amount.

    *way_of* reads it another way than the part's own. Raises Conflict for a level above the book: nothing comes in
    without a receipt.
    """
    with ledger.writing_lines():
        found = row(Lot, lot_id, "lot")
        if found.part.kept != "by level":
            raise Conflict(f"{found.part.name} is not kept by level: count it.", reason="not_by_level")
        known, booked = way(found.part_id), _booked(lot_id, bin_id)
        chosen = known.read_by if way_of is None else _way(way_of)
        left = _left(chosen, str(value), known, found.part, booked)
        return _book(found, bin_id, chosen, str(value).strip(), booked, left, by)


def _booked(lot_id: int, bin_id: int) -> int:
    found = Balance.get_or_none(Balance.lot == lot_id, Balance.bin == bin_id)
    if found is None or not found.quantity:
        raise Conflict("Nothing of this lot is booked in that bin: receive it first.", reason="not_enough")
    return int(found.quantity)


def _left(chosen: str, value: str, known: WayRecord, part: Any, booked: int) -> int:
    if chosen == "percent":
        share = _number(value, "%")
        if known.full is None or not 0 <= share <= 100:
            raise bad_field("value", "Type 0 to 100 per cent; the part must say what a full container holds.")
        one = int((share * known.full / 100).to_integral_value(ROUND_HALF_EVEN))
    elif chosen == "weight":
        one = _by_weight(_number(value, "g"), known)
    else:
        return _not_above(quantity(value, part.unit, "value", least=0), booked, booked, part)
    sealed = 0 if known.full is None else max(0, -(-booked // known.full) - 1) * known.full
    return _not_above(sealed + one, booked, known.full or booked, part)


def _number(text: str, unit: str) -> Decimal:
    typed = text.strip().removesuffix(unit).strip().replace(",", ".")
    try:
        number = Decimal(typed)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or abs(number) > MOST:
        raise bad_field("value", f"Type a number in {unit}, such as 40.")
    return number


def _by_weight(grams: Decimal, known: WayRecord) -> int:
    if known.tare is None or known.per_gram is None:
        raise bad_field("value", "Say first what the empty container weighs, on the part's page.")
    net = grams - Decimal(str(known.tare))
    if net < 0:
        raise bad_field("value", f"That is less than the empty container weighs ({known.tare:g} g): weigh it again.")
    return int((net * Decimal(str(known.per_gram))).to_integral_value(ROUND_HALF_EVEN))


def _not_above(left: int, booked: int, full: int, part: Any) -> int:
    if left <= booked:
        return left
    if left - booked <= CREEP * full:
        return booked
    raise Conflict(
        f"That is {amount(left, part)}, and the book says {amount(booked, part)}: read it again, or receive what "
        "came in as a lot of its own.",
        reason="level_up",
    )


def _book(
    found: Any, bin_id: int, read_by: str, value: str, booked: int, left: int, by: int | None
) -> ReadingOfLevel:
    if len(value) > _READING_KEPT:
        raise bad_field("value", "That is too long for a reading.")
    said = f"level read: {value}{' %' if read_by == 'percent' and not value.endswith('%') else ''}"
    line = ledger.Line("count", found.part_id, found.id, bin_id, left - booked, None, None, by, said)
    entry = ledger.append([line], clock.now())
    made = LevelReading.create(
        lot=found.id, bin=bin_id, at=clock.now(), person=by, read_by=read_by, value=value, before=booked, amount=left,
        movement=entry,
    )  # fmt: skip
    return _record(made)


def _record(found: Any) -> ReadingOfLevel:
    part = found.lot.part
    went = amount(found.before - found.amount, part) if found.before > found.amount else "nothing"
    return ReadingOfLevel(
        found.id, found.lot_id, found.at, found.person.shown_as if found.person_id else "", found.read_by,
        found.value, found.before, found.amount, found.movement_id,
        f"{amount(found.amount, part)} left; {went} went since.",
    )  # fmt: skip


def readings(lot_id: int, limit: int = 50) -> list[ReadingOfLevel]:
    """Return the readings of a lot that were not undone, newest first."""
    row(Lot, lot_id, "lot")
    return [_record(one) for one in standing_readings(LevelReading.lot == lot_id).limit(limit)]


def standing_readings(condition: Any) -> Any:
    """Return readings, newest first, whose lines in the ledger were not undone."""
    undone = Movement.select(Movement.reverses).where(Movement.reverses.is_null(False), Movement.kind == "reverse")
    query = LevelReading.select().where(condition, LevelReading.movement.not_in(undone))
    return query.order_by(LevelReading.at.desc(), LevelReading.id.desc())


def open_new(part_id: int, bin_id: int | None = None, *, by: int | None = None) -> list[ReadingOfLevel]:
    """Note that the open container is empty, and open the next: of the same lot, else the next lot's.

    Returns what was read as empty. Raises Conflict when there is no other one to open.
    """
    with ledger.writing_lines():
        part = row(Part, part_id, "part")
        if part.kept != "by level":
            raise Conflict(f"{part.name} is not kept by level: take one.", reason="not_by_level")
        here = sources(part_id, bin_id)
        if not here:
            raise Conflict(f"No other {part.name} is here: put it on the reorder list.", reason="not_enough")
        now = next((one for one in here if one.lot.opened is not None), None)
        if now is None:
            stock_dates.open_lot(here[0].lot.id, by=by)
            return []
        full = way(part_id).full
        sealed = 0 if full is None else max(0, -(-now.quantity // full) - 1) * full
        following = [one for one in here if one.lot.id != now.lot.id]
        if not sealed and not following:
            raise Conflict(f"No other {part.name} is here: put it on the reorder list.", reason="not_enough")
        read_empty = _book(now.lot, now.bin.id, "", "empty", now.quantity, sealed, by)
        if not sealed and following[0].lot.opened is None:
            stock_dates.open_lot(following[0].lot.id, by=by)
        return [read_empty]
