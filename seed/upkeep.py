"""What goes on beside the jobs: reading bottles and reels, counting bins, moving what is in the way."""

from __future__ import annotations

from datetime import timedelta
from functools import partial

from inventory.stock import bins, receive, shift
from inventory.stock.records import Holding
from seed.bench import FIRST_DAY, Bench
from seed.sheets import DatedLot, rows

READING_DAYS = 24
COUNT_DAYS = 31
BINS_A_COUNT = 6
MISCOUNTED = 0.07


def keep_up(bench: Bench) -> None:
    """Write readings, counts and moves into the diary."""
    for turn, line in enumerate(rows("consumption")):
        if line["keeps_days"]:
            bench.keeps_days[line["part"]] = int(line["keeps_days"])
        for days in range(FIRST_DAY - 15 - turn, 4, -READING_DAYS):
            part, use = line["part"], int(line["per_month"]) * READING_DAYS / 30
            bench.on(days, "17:30", partial(_read, bench, part, use))
    for lot in bench.sheets.dated_lots:
        bench.on(lot.received_days_ago, "11:15", partial(_dated, bench, lot))
    for turn, days in enumerate(range(FIRST_DAY - 40, 6, -COUNT_DAYS)):
        bench.on(days, "17:00", partial(_count_walk, bench, turn))


# ---- by level --------------------------------------------------------------------------------------------


def _read(bench: Bench, number: str, use: float) -> None:
    """Read how much of a consumable is left, opened lot first."""
    gone = round(use * bench.rng.uniform(0.5, 1.5))
    for held in _in_turn(bench, number):
        left = max(0, held.quantity - gone)
        if left != held.quantity:
            _note_level(bench, held, left)
        gone -= held.quantity - left
        if gone <= 0:
            return


def _in_turn(bench: Bench, number: str) -> list[Holding]:
    return sorted(
        bins.holdings(part_id=bench.id(number)), key=lambda one: (str(one.lot.best_before or "9999"), one.lot.id)
    )


def _note_level(bench: Bench, held: Holding, left: int) -> None:
    shift.count(held.bin.id, held.lot.id, left, by=bench.someone(), reason="read" if left else "empty")


def _dated(bench: Bench, lot: DatedLot) -> None:
    """Receive a dated lot, and write down the readings that lead to what is left of it now."""
    offer = bench.offers[lot.part][0]
    made = receive.receive(
        bench.id(lot.part), lot.quantity, bench.bin_of(lot.part), supplier_id=offer.supplier_id, by=bench.someone(),
        cost_minor=offer.price_minor * lot.quantity // offer.pack,
        best_before=bench.today + timedelta(days=lot.best_before_in_days),
    ).made_lot  # fmt: skip
    assert made is not None
    last = max(3, -lot.best_before_in_days + 5) if not lot.left_now else 3
    readings = 5
    for step in range(1, readings + 1):
        days = lot.received_days_ago - (lot.received_days_ago - last) * step // readings
        left = lot.quantity - (lot.quantity - lot.left_now) * step // readings
        if left < lot.quantity:
            bench.on(days, "17:35", partial(_level_of, bench, lot.part, made.id, left))


def _level_of(bench: Bench, number: str, lot_id: int, left: int) -> None:
    for held in bins.holdings(lot_id=lot_id):
        if held.quantity != left:
            _note_level(bench, held, left)


# ---- counting --------------------------------------------------------------------------------------------


def _count_walk(bench: Bench, turn: int) -> None:
    """Count some bins of single parts; what is small and moves fast is off by one now and then."""
    names = [one.name for one in bench.sheets.bins if not one.mixed]
    first = turn * BINS_A_COUNT % len(names)
    for name in (names + names)[first : first + BINS_A_COUNT]:
        for held in bins.holdings(bin_id=bench.bins[name].id):
            if bench.sheets.parts[_number_in(bench, name)].kept == "counted":
                off = bench.rng.choice((-2, -1, -1, 1)) if bench.rng.random() < MISCOUNTED else 0
                found = max(0, held.quantity + off)
                shift.count(held.bin.id, held.lot.id, found, seen=held.quantity, by=bench.owner, reason="count walk")


def _number_in(bench: Bench, name: str) -> str:
    return next(part.number for part in bench.sheets.parts.values() if part.bin == name)
