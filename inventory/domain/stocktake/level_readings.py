"""Stock kept by level: bottles and reels that are read now and then, not counted by the drop.

A reading is booked as a count. A container is *full* base units; of a lot of several, all but the one
in use count as sealed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from typing import Any

from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, invalid_field
from inventory.domain.common.quantity_text import parse_quantity_field, quantity_text
from inventory.domain.common.records import from_row
from inventory.domain.common.validation import MAX_QUANTITY, get_row
from inventory.domain.reorder import stock_dates
from inventory.store import ledger
from inventory.store.connection import transaction
from inventory.store.job_use import undone_lines
from inventory.store.tables import Balance, LevelReading, Lot, Part, PartStorage

LEVEL_METHODS = ("", "percent", "weight", "length")
READING_TOLERANCE = (
    0.03  # share of a container by which a reading may lie above the book before it is refused (assumed)
)
_MAX_READING_LENGTH = 30


@dataclass(frozen=True)
class LevelMethodRecord:
    """How the level of a part is read. ``full``: base units in a container; ``tare``: grams of the empty one."""

    part_id: int
    read_by: str = ""
    full: int | None = None
    tare: float | None = None
    per_gram: float | None = None


@dataclass(frozen=True)
class LevelReadingRecord:
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


def level_method(part_id: int) -> LevelMethodRecord:
    """Return how the level of a part is read."""
    get_row(Part, part_id, "part")
    row = PartStorage.get_or_none(PartStorage.part == part_id)
    return LevelMethodRecord(part_id) if row is None else from_row(LevelMethodRecord, row)


def set_level_method(
    part_id: int, read_by: str, *, full: int | None = None, tare: float | None = None, per_gram: float | None = None
) -> LevelMethodRecord:
    """Say how a part's level is read: percent (needs *full*), weight (needs *tare* and *per_gram*) or length.

    Raises Conflict for a part that is not kept by level.
    """
    with transaction():
        part = get_row(Part, part_id, "part")
        if part.kept != "by level":
            raise Conflict(f"{part.name} is not kept by level: it is counted.", reason="not_by_level")
        values = {
            "read_by": _validated_method(read_by),
            "full": _validated_full(full, read_by),
            "tare": _validated_weight(tare, "tare", read_by),
            "per_gram": _validated_weight(per_gram, "per_gram", read_by),
        }
        if PartStorage.update(**values).where(PartStorage.part == part_id).execute() == 0:
            PartStorage.create(part=part_id, **values)
        return level_method(part_id)


def _validated_method(read_by: Any) -> str:
    if read_by not in LEVEL_METHODS:
        raise invalid_field("read_by", "A level is read by percent, weight or length.")
    return str(read_by)


def _validated_full(full: Any, read_by: str) -> int | None:
    if full is None and read_by != "percent":
        return None
    if isinstance(full, bool) or not isinstance(full, int) or not 0 < full <= MAX_QUANTITY:
        raise invalid_field("full", "Say what a full container holds, above 0.")
    return full


def _validated_weight(value: Any, name: str, read_by: str) -> float | None:
    if value is None and read_by != "weight":
        return None
    least = 0.0 if name == "tare" else 1e-6
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= 1e6:
        raise invalid_field(name, "To read by weight, say what the empty container weighs and what a gram is worth.")
    return float(value)


# ---- reading ---------------------------------------------------------------------------------------------


def record_reading(
    lot_id: int, bin_id: int, value: str, *, by: int | None = None, way_of: str | None = None
) -> LevelReadingRecord:  # fmt: skip
    """Note what a lot's level was read at in a bin: "40" per cent, grams with the container, or an amount.

    *way_of* reads it another way than the part's own. Raises Conflict for a level above the book: nothing comes in
    without a receipt.
    """
    with ledger.ledger_transaction():
        lot = get_row(Lot, lot_id, "lot")
        if lot.part.kept != "by level":
            raise Conflict(f"{lot.part.name} is not kept by level: count it.", reason="not_by_level")
        method, booked = level_method(lot.part_id), _booked_quantity(lot_id, bin_id)
        read_by = method.read_by if way_of is None else _validated_method(way_of)
        left = _remaining_quantity(read_by, str(value), method, lot.part, booked)
        return _book_reading(lot, bin_id, read_by, str(value).strip(), booked, left, by)


def _booked_quantity(lot_id: int, bin_id: int) -> int:
    balance = Balance.get_or_none(Balance.lot == lot_id, Balance.bin == bin_id)
    if balance is None or not balance.quantity:
        raise Conflict("Nothing of this lot is booked in that bin: receive it first.", reason="not_enough")
    return int(balance.quantity)


def _remaining_quantity(read_by: str, value: str, method: LevelMethodRecord, part: Any, booked: int) -> int:
    if read_by == "percent":
        share = _parse_number(value, "%")
        if method.full is None or not 0 <= share <= 100:
            raise invalid_field("value", "Type 0 to 100 per cent; the part must say what a full container holds.")
        in_use = int((share * method.full / 100).to_integral_value(ROUND_HALF_EVEN))
    elif read_by == "weight":
        in_use = _quantity_from_weight(_parse_number(value, "g"), method)
    else:
        return _validated_remaining(parse_quantity_field(value, part.unit, "value", minimum=0), booked, booked, part)
    sealed = _sealed_quantity(booked, method.full)
    return _validated_remaining(sealed + in_use, booked, method.full or booked, part)


def _sealed_quantity(booked: int, full: int | None) -> int:
    """Return how much of *booked* base units is in containers of *full* that are not opened yet."""
    return 0 if full is None else max(0, -(-booked // full) - 1) * full


def _parse_number(text: str, unit: str) -> Decimal:
    plain = text.strip().removesuffix(unit).strip().replace(",", ".")
    try:
        number = Decimal(plain)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or abs(number) > MAX_QUANTITY:
        raise invalid_field("value", f"Type a number in {unit}, such as 40.")
    return number


def _quantity_from_weight(grams: Decimal, method: LevelMethodRecord) -> int:
    if method.tare is None or method.per_gram is None:
        raise invalid_field("value", "Say first what the empty container weighs, on the part's page.")
    net = grams - Decimal(str(method.tare))
    if net < 0:
        raise invalid_field(
            "value", f"That is less than the empty container weighs ({method.tare:g} g): weigh it again."
        )
    return int((net * Decimal(str(method.per_gram))).to_integral_value(ROUND_HALF_EVEN))


def _validated_remaining(left: int, booked: int, full: int, part: Any) -> int:
    if left <= booked:
        return left
    if left - booked <= READING_TOLERANCE * full:
        return booked
    raise Conflict(
        f"That is {quantity_text(left, part)}, and the book says {quantity_text(booked, part)}: "
        f"read it again, or receive what "
        "came in as a lot of its own.",
        reason="level_up",
    )


def _book_reading(
    lot: Any, bin_id: int, read_by: str, value: str, booked: int, left: int, by: int | None
) -> LevelReadingRecord:
    if len(value) > _MAX_READING_LENGTH:
        raise invalid_field("value", "That is too long for a reading.")
    reason = f"level read: {value}{' %' if read_by == 'percent' and not value.endswith('%') else ''}"
    line = ledger.LedgerLine("count", lot.part_id, lot.id, bin_id, left - booked, None, None, by, reason)
    entry = ledger.append_lines([line], clock.now())
    reading = LevelReading.create(
        lot=lot.id, bin=bin_id, at=clock.now(), person=by, read_by=read_by, value=value, before=booked, amount=left,
        movement=entry,
    )  # fmt: skip
    return _record(reading)


def _record(row: Any) -> LevelReadingRecord:
    part = row.lot.part
    used = quantity_text(row.before - row.amount, part) if row.before > row.amount else "nothing"
    return LevelReadingRecord(
        row.id, row.lot_id, row.at, row.person.shown_as if row.person_id else "", row.read_by,
        row.value, row.before, row.amount, row.movement_id,
        f"{quantity_text(row.amount, part)} left; {used} went since.",
    )  # fmt: skip


def level_readings(lot_id: int, limit: int = 50) -> list[LevelReadingRecord]:
    """Return the readings of a lot that were not undone, newest first."""
    get_row(Lot, lot_id, "lot")
    return [_record(reading) for reading in unreversed_readings(LevelReading.lot == lot_id).limit(limit)]


def unreversed_readings(condition: Any) -> Any:
    """Return readings, newest first, whose lines in the ledger were not undone."""
    query = LevelReading.select().where(condition, LevelReading.movement.not_in(undone_lines()))
    return query.order_by(LevelReading.at.desc(), LevelReading.id.desc())


def open_next_container(
    part_id: int, bin_id: int | None = None, *, by: int | None = None
) -> list[LevelReadingRecord]:
    """Note that the open container is empty, and open the next: of the same lot, else the next lot's.

    Returns what was read as empty. Raises Conflict when there is no other one to open.
    """
    with ledger.ledger_transaction():
        part = get_row(Part, part_id, "part")
        if part.kept != "by level":
            raise Conflict(f"{part.name} is not kept by level: take one.", reason="not_by_level")
        sources = pick_sources(part_id, bin_id)
        if not sources:
            raise Conflict(f"No other {part.name} is here: put it on the reorder list.", reason="not_enough")
        current = next((source for source in sources if source.lot.opened is not None), None)
        if current is None:
            stock_dates.open_lot(sources[0].lot.id, by=by)
            return []
        sealed = _sealed_quantity(current.quantity, level_method(part_id).full)
        following = [source for source in sources if source.lot.id != current.lot.id]
        if not sealed and not following:
            raise Conflict(f"No other {part.name} is here: put it on the reorder list.", reason="not_enough")
        read_empty = _book_reading(current.lot, current.bin.id, "", "empty", current.quantity, sealed, by)
        if not sealed and following[0].lot.opened is None:
            stock_dates.open_lot(following[0].lot.id, by=by)
        return [read_empty]
