"""The value of the stock now and on any past day, from the append-only ledger.

Value is what the lots cost. A lot of unknown cost is counted, its value not guessed. Categories of bins, and costs,
are as recorded today.
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

    def add(self, line: LotCostLine, receipts: dict[int, tuple[int, int | None]]) -> None:
        """Add one line of the ledger."""
        if line.lot_id not in self.lots:
            quantity, cost = receipts[line.lot_id]
            self.lots[line.lot_id] = None if cost is None or quantity < 1 else LotCostLedger(quantity, cost)
        self.places[line.lot_id, line.bin_id] += line.quantity
        giver, money = cost_holder(line), self.lots[line.lot_id]
        if giver is not None:
            self.units[line.lot_id] += line.quantity
            if money is not None:
                self.value += money.onto_shelf(line.quantity, giver)

    def lots_left(self) -> tuple[int, int]:
        """Return how many lots have units left, and how many of those are of unknown cost."""
        left = [key for key, units in self.units.items() if units > 0]
        return len(left), sum(self.lots[key] is None for key in left)


def _stock_at_moments(moments: Sequence[int]) -> Iterator[_RunningStock]:
    """Yield the stock as of just before each of *moments* (microseconds, rising); the same object each time."""
    lines = map(LotCostLine._make, execute(f"{LOT_LINES_SQL} WHERE m.at < ? ORDER BY m.id", moments[-1]).fetchall())
    stock, receipts, line = _RunningStock(), lot_receipts(), next(lines, None)
    for moment in moments:
        while line is not None and line.at < moment:
            stock.add(line, receipts)
            line = next(lines, None)
        yield stock


# ---- on a day --------------------------------------------------------------------------------------------


def stock_value_on(day: date | None = None, zone: str = "UTC") -> StockValue:
    """Return what the stock was worth at the end of a *day* of the time zone *zone* (None: now).

    Raises Invalid for a day to come, or one of a year that cannot be right.
    """
    today = clock.now().astimezone(ZoneInfo(zone)).date()
    value_day = today if day is None else day
    validated_year(value_day, "day")
    if value_day > today:
        sentence = f"{value_day} is still to come: choose today or a day before."
        raise Invalid(sentence, errors={"on": [sentence]})
    until = min(_end_of_day(value_day, zone), clock.now() + timedelta(microseconds=1))
    stock = next(_stock_at_moments([to_micros(until)]))
    lots, unknown = stock.lots_left()
    by_part = _value_by_part(stock)
    return StockValue(
        value_day, until, stock.value, lots, unknown, tuple(by_part), tuple(_value_by_bin(stock)),
        tuple(_value_by_kind(by_part)),
    )  # fmt: skip


def _end_of_day(day: date, zone: str) -> datetime:
    return datetime.combine(day + timedelta(days=1), time(), ZoneInfo(zone)).astimezone(UTC)


def _value_by_part(stock: _RunningStock) -> list[PartValue]:
    of_lot = {int(lot): int(part) for lot, part in execute("SELECT id, part_id FROM lots").fetchall()}
    lots: dict[int, list[int]] = defaultdict(list)
    for lot_id, units in stock.units.items():
        if units > 0:
            lots[of_lot[lot_id]].append(lot_id)
    rows = {part.id: from_row(PartRecord, part) for part in Part.select()}
    values = [_part_value(rows[part], keys, stock) for part, keys in lots.items()]
    return sorted(values, key=lambda value: (-value.value_minor, value.part.number))


def _part_value(part: PartRecord, lots: Sequence[int], stock: _RunningStock) -> PartValue:
    unknown = [lot_id for lot_id in lots if stock.lots[lot_id] is None]
    return PartValue(
        part, sum(stock.units[lot_id] for lot_id in lots), sum(_shelf_value(stock, lot_id) for lot_id in lots),
        len(lots), len(unknown), sum(stock.units[lot_id] for lot_id in unknown),
    )  # fmt: skip


def _shelf_value(stock: _RunningStock, lot_id: int) -> int:
    ledger = stock.lots[lot_id]
    return 0 if ledger is None else ledger.money(SHELF)


def _value_by_bin(stock: _RunningStock) -> list[ValueShare]:
    """Split each lot's value over its bins without a rest, and add up the bins of each category."""
    values: dict[int, int] = defaultdict(int)
    bins_of: dict[int, list[int]] = defaultdict(list)
    for (lot, bin_), units in stock.places.items():
        if units > 0:
            bins_of[lot].append(bin_)
    for lot, places in bins_of.items():
        value, quantities = _shelf_value(stock, lot), [stock.places[lot, place] for place in places]
        for bin_, share in zip(
            places, split_cost(value, quantities) if len(quantities) > 1 else [value], strict=True
        ):
            values[bin_] += share or 0
    categories = {bin_.id: _bin_category(bin_) for bin_ in Bin.select()}
    return _sum_by_word((categories[bin_id], value) for bin_id, value in values.items())


def _bin_category(row: Any) -> str:
    if row.retired:
        return "retired bins"
    if row.mixed:
        return "bins for several parts"
    return "bins of one part" if row.part_id is not None else "bins of nobody yet"


def _value_by_kind(values: Iterable[PartValue]) -> list[ValueShare]:
    return _sum_by_word((value.part.kind, value.value_minor) for value in values)


def _sum_by_word(pairs: Iterable[tuple[str, int]]) -> list[ValueShare]:
    totals: dict[str, int] = defaultdict(int)
    counts: dict[str, int] = defaultdict(int)
    for word, value in pairs:
        totals[word] += value
        counts[word] += 1
    return [ValueShare(word, totals[word], counts[word]) for word in sorted(totals, key=lambda key: -totals[key])]


# ---- over months -----------------------------------------------------------------------------------------


def stock_value_by_month(months: int = DEFAULT_MONTHS, zone: str = "UTC") -> list[MonthValue]:
    """Return what the stock was worth at the end of each of the last *months* that had any, and by now."""
    first = execute("SELECT MIN(at) FROM movements").fetchone()[0]
    if first is None:
        return []
    today = clock.now().astimezone(ZoneInfo(zone)).date()
    first_day = from_micros(int(first)).astimezone(ZoneInfo(zone)).date()
    days = [*_month_ends(max(first_day, _month_start_before(today, months)), today), today]
    ends = [to_micros(min(_end_of_day(day, zone), clock.now() + timedelta(microseconds=1))) for day in days]
    months_with_value = []
    for day, books in zip(days, _stock_at_moments(ends), strict=True):
        lots, unknown = books.lots_left()
        months_with_value.append(MonthValue(day, books.value, lots, unknown))
    return months_with_value


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
