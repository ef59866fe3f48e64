"""How the owner buys: a look a week, one order a supplier, and parcels that come early, late or in halves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from typing import Any

from inventory.domain.buying import orders
from inventory.domain.buying.order_records import NewOrderLine, OrderLineRecord, OrderRecord
from inventory.domain.catalogue import stock_totals
from inventory.domain.common import clock
from inventory.domain.common.records import StockTotals
from inventory.domain.movements import receive
from seed.demo_bench import FIRST_DAY, DemoBench

LOOKS_AT_ALL, LOOKS_AT_WAITING = 1, 5  # days of each week, counted back from the day of loading
LAST_HABIT_DAY = 24  # after that the reorder list itself is followed: see ``last_days``
OVERSEAS_SUPPLIER = "F"
LAST_OVERSEAS_DAY = 45  # days ago; the next order there waits until it is worth a parcel
CODED_BAG_PREFIX = "NC-"  # Northgate's numbers: its bags have a square that says what is in them
SPLIT_SHARE = 0.12  # share of orders of several lines that come in two parcels


def schedule_weekly_orders(bench: DemoBench) -> None:
    """Write the owner's looks at the shelves into the diary: all of them, and four days on what jobs wait for."""
    for days in range(FIRST_DAY - 3, LAST_HABIT_DAY, -1):
        if days % 7 == LOOKS_AT_ALL:
            bench.just(days, "18:05", lambda: _order_low_stock(bench, all_parts=True))
        elif days % 7 == LOOKS_AT_WAITING:
            bench.just(days, "18:05", lambda: _order_low_stock(bench, all_parts=False))


def _order_low_stock(bench: DemoBench, *, all_parts: bool) -> None:
    stock = stock_totals.stock_by_part([part.id for part in bench.parts.values()])
    position = {number: stock.get(bench.id(number), StockTotals()).position for number in bench.habits}
    low = {number: habit.low if all_parts else -1 for number, habit in bench.habits.items()}
    due = {number for number in bench.habits if position[number] <= low[number]}
    if clock.today() > bench.today - timedelta(days=LAST_OVERSEAS_DAY):
        due = {number for number in due if supplier_of(bench, number) != OVERSEAS_SUPPLIER}
    keys = {supplier_of(bench, number) for number in due}
    order_lines: dict[str, list[NewOrderLine]] = {}
    for number, habit in bench.habits.items():
        nearly = 0 <= position[number] <= habit.low + max(1, habit.low // 2)
        if number in due or (nearly and supplier_of(bench, number) in keys):
            line = whole_packs(bench, number, max(1, habit.fill - position[number]))
            order_lines.setdefault(supplier_of(bench, number), []).append(line)
    for key, lines in order_lines.items():
        order_parts(bench, key, lines)


def supplier_of(bench: DemoBench, number: str) -> str:
    """Return the key of the supplier that a part is bought from by habit."""
    offer = bench.offers[number][0]
    return next(key for key, supplier in bench.suppliers.items() if supplier.id == offer.supplier_id)


def whole_packs(bench: DemoBench, number: str, least: int) -> NewOrderLine:
    """Return the order line for at least so many of a part, in whole packs."""
    offer = bench.offers[number][0]
    packs = max(-(-least // offer.pack), -(-offer.minimum // offer.pack))
    return NewOrderLine(bench.id(number), packs * offer.pack, offer.id)


def order_parts(
    bench: DemoBench, key: str, lines: Sequence[NewOrderLine], *, note: str = "", days: int | None = None,
    halves: bool | None = None, expected: date | None = None,
) -> OrderRecord:  # fmt: skip
    """Place an order now; its parcels come after *days* (left out: as this supplier's parcels do)."""
    drafted = orders.draft_order(bench.suppliers[key].id, lines, note=note, by=bench.owner)
    placed = orders.place_order(drafted.id, by=bench.owner, expected=expected)
    wait = _draw_delivery_days(bench, key) if days is None else days
    lines_placed = list(placed.lines)
    if halves is None:
        halves = len(lines_placed) > 1 and bench.rng.random() < SPLIT_SHARE
    if halves:
        late = lines_placed.pop()
        bench.diary.later(
            wait + bench.rng.randint(3, 9), _delivery_time(bench), lambda: receive_parcel(bench, [late])
        )
    bench.diary.later(wait, _delivery_time(bench), lambda: receive_parcel(bench, lines_placed))
    return placed


def _draw_delivery_days(bench: DemoBench, key: str) -> int:
    fastest, usual, slowest = bench.sheets.suppliers[key].days
    return round(bench.rng.triangular(fastest, slowest, usual))


def _delivery_time(bench: DemoBench) -> str:
    return f"{bench.rng.randint(9, 11):02}:{bench.rng.randint(5, 55):02}"


def receive_parcel(bench: DemoBench, lines: Sequence[OrderLineRecord]) -> None:
    """Put a parcel away, then go on with the jobs that waited for something in it."""
    by = bench.someone()
    for line in lines:
        number = line.part.number
        receive.receive(
            line.part.id, line.quantity, bench.bin_of(number), order_line_id=line.id, by=by,
            best_before=_best_before(bench, number), **_bag_markings(bench, number, line),
        )  # fmt: skip
    for line in lines:
        resume_waiting(bench, line.part.number)


def resume_waiting(bench: DemoBench, number: str) -> None:
    """Let everybody who waited for a part try again."""
    waiting = bench.wanting.pop(number, [])
    for minutes, action in enumerate(waiting, start=1):
        bench.diary.write(clock.now() + timedelta(minutes=30 * minutes), action)


def run_when_received(bench: DemoBench, number: str, action: Callable[[], object]) -> None:
    """Let *action* happen when the part has come in."""
    bench.wanting.setdefault(number, []).append(action)


def _bag_markings(bench: DemoBench, number: str, line: OrderLineRecord) -> dict[str, Any]:
    """Return the maker's lot and date code that stand on the bag, for makers who print them."""
    if line.part.kind not in ("connector", "fan", "supply", "other", "consumable") or not line.supplier_number:
        return {}
    making_day = clock.today() - timedelta(weeks=bench.rng.randint(6, 40))
    year, week, _ = making_day.isocalendar()
    lot = f"{line.part.maker_number[:2]}{year % 100:02}{week:02}{bench.rng.randint(100, 999)}"
    date_code = f"{year % 100:02}{week:02}"
    printed = (
        {"raw_code": _bag_code(line, lot, date_code)} if line.supplier_number.startswith(CODED_BAG_PREFIX) else {}
    )
    return {"maker_lot": lot, "date_code": date_code, **printed}


def _bag_code(line: OrderLineRecord, lot: str, date_code: str) -> str:
    """Return what is in the square on a bag: an ISO/IEC 15434 envelope with ASC MH10.8.2 data identifiers."""
    elements = (
        *(f"P{line.part.number}", f"1P{line.part.maker_number}", f"30P{line.supplier_number}"),
        *(f"Q{line.quantity}", f"1T{lot}", f"9D{date_code}"),
    )
    return "[)>\x1e06\x1d" + "\x1d".join(elements) + "\x1e\x04"


def _best_before(bench: DemoBench, number: str) -> date | None:
    keeps = bench.keeps_days.get(number)
    return clock.today() + timedelta(days=keeps) if keeps else None
