"""Shelf life: which lot to pick first, what will be past its date, how long a bag may be open."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from inventory.reckoning.common.value_checks import check_amount
from inventory.reckoning.proof.piece_events import to_utc

NO_EXPIRY = date.max


@dataclass(frozen=True, slots=True)
class ShelfLot:
    """A lot on the shelf: quantity in base units of the part, ``until`` its last good day (None: no limit)."""

    code: str
    received: date
    quantity: float = 0.0
    until: date | None = None
    on_hold: bool = False


def last_good_day(*limits: date | None) -> date | None:
    """Return the earliest of the days that limit a lot (None: no such limit), or None if nothing limits it."""
    return min((day for day in limits if day is not None), default=None)


def picking_key(
    until: date | None, received: date, code: str, today: date | None = None
) -> tuple[bool, date, date, str]:
    """Return the key that sorts lots into picking order: earliest last good day first, else oldest received.

    With ``today`` given, lots past their last good day come after all others: none is suggested before them. Lots
    alike in both dates are picked in the order of their codes, so that the order is stable.
    """
    past = until is not None and today is not None and until < today
    return past, until or NO_EXPIRY, received, code


def picking_order(lots: Iterable[ShelfLot], today: date | None = None) -> list[ShelfLot]:
    """Return the lots that may be picked, in the order to pick them; lots on hold are left out."""
    free = (lot for lot in lots if not lot.on_hold)
    return sorted(free, key=lambda lot: picking_key(lot.until, lot.received, lot.code, today))


@dataclass(frozen=True, slots=True)
class LotOutlook:
    """What will become of a lot at the present rate of use."""

    lot: ShelfLot
    days_left: int | None  # whole days until the last good day, negative once past; None without a date
    used_up_on: date | None  # the day it runs empty, if that comes first
    share_left: float  # share of today's quantity that will be left when its last good day ends
    words: str


def lot_outlooks(lots: Sequence[ShelfLot], use_a_day: float, today: date) -> list[LotOutlook]:
    """Return what becomes of the lots of one part, used one after the other in picking order.

    ``use_a_day`` is the present rate of use in base units a day. A lot is used while it is in date; the next one
    waits until the lot before it is empty or past.
    """
    check_amount(use_a_day, "The use a day")
    result, clock = [], 0.0
    for lot in picking_order(lots, today):
        outlook, clock = _lot_outlook(lot, use_a_day, today, clock)
        result.append(outlook)
    return result


def _lot_outlook(lot: ShelfLot, use_a_day: float, today: date, begin: float) -> tuple[LotOutlook, float]:
    """Return the outlook of a lot whose use begins ``begin`` days from now, and when the next one's begins."""
    days_left = None if lot.until is None else (lot.until - today).days
    in_date = float("inf") if days_left is None else max(0.0, days_left + 1.0 - begin)
    if days_left is not None and days_left < 0:
        return LotOutlook(lot, days_left, None, 1.0, f"past its date by {_days_text(-days_left)}"), begin
    if lot.quantity <= 0.0:
        return LotOutlook(lot, days_left, today, 0.0, "empty"), begin
    needed = lot.quantity / use_a_day if use_a_day > 0.0 else float("inf")
    if needed <= in_date and needed < 36500.0:
        day = today + timedelta(days=int(begin + needed))
        return LotOutlook(lot, days_left, day, 0.0, f"used up about {day}"), begin + needed
    if days_left is None:
        return LotOutlook(lot, None, None, 1.0, "no date, and hardly used"), float("inf")
    share = 1.0 - in_date / needed if needed < float("inf") else 1.0
    sentence = f"will not be used up: {share:.0%} left by {lot.until}".replace("%", " %")
    return LotOutlook(lot, days_left, None, share, sentence), max(begin, days_left + 1.0)


def _days_text(number: int) -> str:
    return f"{number} day{'' if number == 1 else 's'}"


# Floor life out of the bag at no more than 30 degrees C and 60 % relative humidity, in hours, by moisture
# sensitivity level: IPC/JEDEC J-STD-020 and J-STD-033, written down from memory. None: no limit (level 1, at
# 85 % RH). Level 6 is baked before use and then has the time on its label.
FLOOR_LIFE_HOURS: dict[str, float | None] = {
    "1": None,
    "2": 365 * 24.0,
    "2a": 4 * 7 * 24.0,
    "3": 168.0,
    "4": 72.0,
    "5": 48.0,
    "5a": 24.0,
    "6": 0.0,
}


@dataclass(frozen=True, slots=True)
class BagOpenPeriod:
    """A time that the bag was open; ``closed`` is None while it still is."""

    opened: datetime
    closed: datetime | None = None

    def __post_init__(self) -> None:
        """Refuse a bag that was closed before it was opened."""
        if self.closed is not None and to_utc(self.closed) < to_utc(self.opened):
            raise ValueError("A bag cannot be closed before it was opened; check the two times.")


@dataclass(frozen=True, slots=True)
class FloorLife:
    """How much of a lot's floor life is gone, in hours; ``left`` and ``runs_out`` are None without a limit."""

    used: float
    left: float | None
    runs_out: datetime | None  # while the bag is open: when the floor life ends
    bake: bool
    words: str


def floor_life(
    level: str, openings: Iterable[BagOpenPeriod], at: datetime, label_hours: float | None = None
) -> FloorLife:
    """Return how much floor life a lot has left at a moment; the clock runs only while the bag is open.

    ``label_hours`` is the time on the label of level 6, or another limit that the label sets. Raises ValueError
    for a level that is not in the table.
    """
    limit = _floor_life_limit(level, label_hours)
    used, is_open = _open_hours(openings, to_utc(at))
    if limit is None:
        return FloorLife(used, None, None, False, "no limit out of the bag")
    left = limit - used
    runs_out = to_utc(at) + timedelta(hours=left) if is_open and left > 0 else None
    if level == "6" and used == 0.0:
        return FloorLife(used, left, None, True, "bake before use, then use it within the time on its label")
    if left <= 0.0:
        sentence = f"out of the bag {used:.0f} h of {limit:.0f} h: bake before reflow, see the standard"
        return FloorLife(used, left, None, True, sentence)
    return FloorLife(used, left, runs_out, False, f"{left:.0f} h of {limit:.0f} h left out of the bag")


def _floor_life_limit(level: str, label_hours: float | None) -> float | None:
    if level not in FLOOR_LIFE_HOURS:
        raise ValueError(f"There is no moisture level {level!r}; choose one of {', '.join(FLOOR_LIFE_HOURS)}.")
    return FLOOR_LIFE_HOURS[level] if label_hours is None else check_amount(label_hours, "The hours on the label")


def _open_hours(openings: Iterable[BagOpenPeriod], at: datetime) -> tuple[float, bool]:
    """Return the hours that the bag was open up to ``at``, overlapping openings once, and whether it is open."""
    begun = [bag for bag in openings if to_utc(bag.opened) <= at]
    spans = sorted((to_utc(bag.opened), min(at, to_utc(bag.closed)) if bag.closed else at) for bag in begun)
    seconds, reached = 0.0, None
    for opened, end in spans:
        begin = opened if reached is None else max(opened, reached)
        if end > begin:
            seconds += (end - begin).total_seconds()
            reached = end
    return seconds / 3600.0, any(bag.closed is None or to_utc(bag.closed) > at for bag in begun)
