"""Stock kept by level: bottles and reels that are read now and then, not counted by the drop.

A reading is booked as a count. What went between two readings of a lot is shared by the jobs that took something in
that time; with none, it was the bench's own. A container is *full* base units; of a lot of several, all but the one
in use count as sealed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from typing import Any

from inventory.reckoning.apportion import shares
from inventory.stock import clock, dates
from inventory.stock.lot_costs import cost_of_line, split
from inventory.stock.lots import lot
from inventory.stock.places import sources
from inventory.stock.records import LotRecord, PartRecord, read
from inventory.stock.records_trace import JobTrace
from inventory.stock.refusals import Conflict, Invalid
from inventory.stock.rules import MOST, row
from inventory.stock.saying import amount
from inventory.stock.trace import trace_job
from inventory.stock.typed import quantity
from inventory.store import ledger
from inventory.store.binding import run, writing
from inventory.store.fields import from_micros, to_micros
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


@dataclass(frozen=True)
class SharedUse:
    """A job's share of what went of a lot between two readings."""

    part: PartRecord
    lot: LotRecord
    amount: int
    cost_minor: int | None
    since: datetime
    until: datetime
    jobs: int  # how many shared it


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
        raise _bad("read_by", "A level is read by percent, weight or length.")
    return str(read_by)


def _full(full: Any, read_by: str) -> int | None:
    if full is None and read_by != "percent":
        return None
    if isinstance(full, bool) or not isinstance(full, int) or not 0 < full <= MOST:
        raise _bad("full", "Say what a full container holds, above 0.")
    return full


def _weight(value: Any, name: str, read_by: str) -> float | None:
    if value is None and read_by != "weight":
        return None
    least = 0.0 if name == "tare" else 1e-6
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= 1e6:
        raise _bad(name, "To read by weight, say what the empty container weighs and what a gram is worth.")
    return float(value)


def _bad(name: str, sentence: str) -> Invalid:
    return Invalid(sentence, errors={name: [sentence]})


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
            raise _bad("value", "Type 0 to 100 per cent; the part must say what a full container holds.")
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
        raise _bad("value", f"Type a number in {unit}, such as 40.")
    return number


def _by_weight(grams: Decimal, known: WayRecord) -> int:
    if known.tare is None or known.per_gram is None:
        raise _bad("value", "Say first what the empty container weighs, on the part's page.")
    net = grams - Decimal(str(known.tare))
    if net < 0:
        raise _bad("value", f"That is less than the empty container weighs ({known.tare:g} g): weigh it again.")
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
        raise _bad("value", "That is too long for a reading.")
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
    return [_record(one) for one in _standing(LevelReading.lot == lot_id).limit(limit)]


def _standing(condition: Any) -> Any:
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
            dates.open_lot(here[0].lot.id, by=by)
            return []
        full = way(part_id).full
        sealed = 0 if full is None else max(0, -(-now.quantity // full) - 1) * full
        following = [one for one in here if one.lot.id != now.lot.id]
        if not sealed and not following:
            raise Conflict(f"No other {part.name} is here: put it on the reorder list.", reason="not_enough")
        read_empty = _book(now.lot, now.bin.id, "", "empty", now.quantity, sealed, by)
        if not sealed and following[0].lot.opened is None:
            dates.open_lot(following[0].lot.id, by=by)
        return [read_empty]


# ---- what it cost which job ------------------------------------------------------------------------------

_JOBS = """
SELECT DISTINCT job_id FROM movements WHERE job_id IS NOT NULL AND kind = 'pull' AND at > ? AND at <= ?
ORDER BY job_id
"""


def shared_by(job_id: int) -> list[SharedUse]:
    """Return a job's shares of what went of bottles and reels while it was worked on, newest first."""
    times = run("SELECT MIN(at), MAX(at) FROM movements WHERE job_id = ? AND kind = 'pull'", job_id).fetchone()
    if times[0] is None:
        return []
    later = LevelReading.at >= from_micros(int(times[0]))
    found = (_share(one, job_id) for one in _standing(later & (LevelReading.before > LevelReading.amount)))
    return [one for one in found if one is not None and one.amount]


def _share(reading: Any, job_id: int) -> SharedUse | None:
    since = _since(reading)
    jobs, amounts, costs = _spread(reading, since)
    if job_id not in jobs:
        return None
    at = jobs.index(job_id)
    return SharedUse(
        read(PartRecord, reading.lot.part), lot(reading.lot_id), amounts[at], costs[at], since, reading.at, len(jobs)
    )


def _spread(reading: Any, since: datetime) -> tuple[list[int], list[int], list[int | None]]:
    """Return the jobs that shared what a reading says went, how much each got, and what that cost."""
    jobs = [int(key) for (key,) in run(_JOBS, to_micros(since), to_micros(reading.at)).fetchall()]
    amounts = list(spread(reading.before - reading.amount, jobs).values())
    return jobs, amounts, split(cost_of_line(reading.lot_id, reading.movement_id), amounts) if jobs else []


def costs_by_job() -> dict[int, list[int | None]]:
    """Return by job what its shares of bottles and reels cost, one entry a share (None: not known)."""
    found: dict[int, list[int | None]] = {}
    for reading in _standing(LevelReading.before > LevelReading.amount):
        jobs, amounts, costs = _spread(reading, _since(reading))
        for job, number, cost in zip(jobs, amounts, costs, strict=True):
            if number:
                found.setdefault(job, []).append(cost)
    return found


def spread(used: int, jobs: Sequence[int]) -> dict[int, int]:
    """Share out *used* base units evenly over jobs, in whole units that add up."""
    return dict(zip(jobs, shares(used, [1.0] * len(jobs)), strict=True)) if jobs else {}


def _since(reading: Any) -> datetime:
    """Return when a lot was read before, or came in."""
    same: Iterable[Any] = LevelReading.select().where(
        LevelReading.lot == reading.lot_id, LevelReading.bin == reading.bin_id, LevelReading.id < reading.id
    ).order_by(LevelReading.id.desc()).limit(1)  # fmt: skip
    for one in same:
        return one.at  # type: ignore[no-any-return]
    return reading.lot.received  # type: ignore[no-any-return]


@dataclass(frozen=True)
class AtJobTrace:
    """What a job is made of, and its shares of bottles and reels."""

    trace: JobTrace
    shared: tuple[SharedUse, ...]

    @property
    def cost_minor(self) -> int:
        """What all of it cost, as far as it is known, in minor units."""
        return self.trace.cost_minor + sum(one.cost_minor or 0 for one in self.shared)


def at_job_trace(job_id: int) -> AtJobTrace:
    """Gather what a job is made of, its shares of what is kept by level included."""
    return AtJobTrace(trace_job(job_id), tuple(shared_by(job_id)))
