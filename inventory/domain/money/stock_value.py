"""What the stock is worth, now and on any past day: told by the ledger, which never changes behind its end.

Worth is what the lots had cost. A lot whose cost nobody noted is counted, not guessed. Sorts of bins are as the bins
are marked today; costs are as noted today.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from inventory.domain.catalogue.lot_costs import LOT_LINES_SQL, LotCostLine, cost_holder, lot_receipts, split_cost
from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid
from inventory.domain.common.records import PartRecord, from_row
from inventory.domain.common.validation import validated_year
from inventory.domain.money.money_records import MonthValue, PartValue, StockValue, ValueShare
from inventory.reckoning.stock.lot_cost import SHELF, LotCostLedger
from inventory.store.connection import execute
from inventory.store.fields import from_micros, to_micros
from inventory.store.tables import Bin, Part

DEFAULT_MONTHS = 24


@dataclass
class _RunningStock:
    """The stock as the lines so far leave it."""

    lots: dict[int, LotCostLedger | None] = field(default_factory=dict)  # None: cost not known
    units: dict[int, int] = field(default_factory=lambda: defaultdict(int))  # by lot
    places: dict[tuple[int, int], int] = field(default_factory=lambda: defaultdict(int))  # by lot and bin
    value: int = 0

    def write(self, line: LotCostLine, known: dict[int, tuple[int, int | None]]) -> None:
        """Take one line into the books."""
        if line.lot_id not in self.lots:
            number, cost = known[line.lot_id]
            self.lots[line.lot_id] = None if cost is None or number < 1 else LotCostLedger(number, cost)
        self.places[line.lot_id, line.bin_id] += line.quantity
        giver, money = cost_holder(line), self.lots[line.lot_id]
        if giver is not None:
            self.units[line.lot_id] += line.quantity
            if money is not None:
                self.value += money.onto_shelf(line.quantity, giver)

    def there(self) -> tuple[int, int]:
        """Return how many lots have anything left, and of how many of these the cost is not known."""
        left = [key for key, units in self.units.items() if units > 0]
        return len(left), sum(self.lots[key] is None for key in left)


def _stock_at_moments(moments: Sequence[int]) -> Iterator[_RunningStock]:
    """Yield the books as of just before each of *moments* (microseconds, rising); the same object each time."""
    lines = map(LotCostLine._make, execute(f"{LOT_LINES_SQL} WHERE m.at < ? ORDER BY m.id", moments[-1]).fetchall())
    books, known, waiting = _RunningStock(), lot_receipts(), next(lines, None)
    for moment in moments:
        while waiting is not None and waiting.at < moment:
            books.write(waiting, known)
            waiting = next(lines, None)
        yield books


# ---- on a day --------------------------------------------------------------------------------------------


def stock_value_on(day: date | None = None, zone: str = "UTC") -> StockValue:
    """Return what the stock was worth at the end of a *day* of the time zone *zone* (None: now).

    Raises Invalid for a day to come, or one of a year that cannot be right.
    """
    today = clock.now().astimezone(ZoneInfo(zone)).date()
    asked = today if day is None else day
    validated_year(asked, "day")
    if asked > today:
        sentence = f"{asked} is still to come: choose today or a day before."
        raise Invalid(sentence, errors={"on": [sentence]})
    until = min(_end_of_day(asked, zone), clock.now() + timedelta(microseconds=1))
    books = next(_stock_at_moments([to_micros(until)]))
    lots, unknown = books.there()
    by_part = _value_by_part(books)
    return StockValue(
        asked,
        until,
        books.value,
        lots,
        unknown,
        tuple(by_part),
        tuple(_value_by_bin(books)),
        tuple(_value_by_kind(by_part)),
    )


def _end_of_day(day: date, zone: str) -> datetime:
    return datetime.combine(day + timedelta(days=1), time(), ZoneInfo(zone)).astimezone(UTC)


def _value_by_part(books: _RunningStock) -> list[PartValue]:
    of_lot = {int(lot): int(part) for lot, part in execute("SELECT id, part_id FROM lots").fetchall()}
    lots: dict[int, list[int]] = defaultdict(list)
    for key, units in books.units.items():
        if units > 0:
            lots[of_lot[key]].append(key)
    rows = {part.id: from_row(PartRecord, part) for part in Part.select()}
    found = [_part_value(rows[part], keys, books) for part, keys in lots.items()]
    return sorted(found, key=lambda one: (-one.value_minor, one.part.number))


def _part_value(part: PartRecord, lots: Sequence[int], books: _RunningStock) -> PartValue:
    unknown = [key for key in lots if books.lots[key] is None]
    return PartValue(
        part,
        sum(books.units[key] for key in lots),
        sum(_shelf_value(books, key) for key in lots),
        len(lots),
        len(unknown),
        sum(books.units[key] for key in unknown),
    )


def _shelf_value(books: _RunningStock, lot_id: int) -> int:
    money = books.lots[lot_id]
    return 0 if money is None else money.money(SHELF)


def _value_by_bin(books: _RunningStock) -> list[ValueShare]:
    """Share each lot's worth out over its bins, so that it adds up, and add up the bins of one sort."""
    worth: dict[int, int] = defaultdict(int)
    bins_of: dict[int, list[int]] = defaultdict(list)
    for (lot, bin_), units in books.places.items():
        if units > 0:
            bins_of[lot].append(bin_)
    for lot, places in bins_of.items():
        value, held = _shelf_value(books, lot), [books.places[lot, place] for place in places]
        for bin_, share in zip(places, split_cost(value, held) if len(held) > 1 else [value], strict=True):
            worth[bin_] += share or 0
    sorts = {bin_.id: _bin_category(bin_) for bin_ in Bin.select()}
    return _sum_by_word((sorts[key], value) for key, value in worth.items())


def _bin_category(found: Any) -> str:
    if found.retired:
        return "retired bins"
    if found.mixed:
        return "bins for several parts"
    return "bins of one part" if found.part_id is not None else "bins of nobody yet"


def _value_by_kind(found: Iterable[PartValue]) -> list[ValueShare]:
    return _sum_by_word((one.part.kind, one.value_minor) for one in found)


def _sum_by_word(pairs: Iterable[tuple[str, int]]) -> list[ValueShare]:
    total: dict[str, int] = defaultdict(int)
    number: dict[str, int] = defaultdict(int)
    for word, value in pairs:
        total[word] += value
        number[word] += 1
    return [ValueShare(word, total[word], number[word]) for word in sorted(total, key=lambda one: -total[one])]


# ---- over months -----------------------------------------------------------------------------------------


def stock_value_by_month(months: int = DEFAULT_MONTHS, zone: str = "UTC") -> list[MonthValue]:
    """Return what the stock was worth at the end of each of the last *months* that had any, and by now."""
    first = execute("SELECT MIN(at) FROM movements").fetchone()[0]
    if first is None:
        return []
    today = clock.now().astimezone(ZoneInfo(zone)).date()
    began = from_micros(int(first)).astimezone(ZoneInfo(zone)).date()
    days = [*_month_ends(max(began, _month_start_before(today, months)), today), today]
    ends = [to_micros(min(_end_of_day(day, zone), clock.now() + timedelta(microseconds=1))) for day in days]
    found = []
    for day, books in zip(days, _stock_at_moments(ends), strict=True):
        lots, unknown = books.there()
        found.append(MonthValue(day, books.value, lots, unknown))
    return found


def _month_start_before(day: date, months: int) -> date:
    number = day.year * 12 + day.month - 1 - months
    return date(number // 12, number % 12 + 1, 1)


def _month_ends(since: date, until: date) -> Iterator[date]:
    """Yield the last days of the months from that of *since*, as far as they are before *until*."""
    year, month = since.year, since.month
    while True:
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        end = date(year, month, 1) - timedelta(days=1)
        if end >= until:
            return
        yield end
