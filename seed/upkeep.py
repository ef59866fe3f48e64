"""What goes on beside the jobs: reading bottles and reels, counting bins, moving what is in the way."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from functools import partial

from inventory.domain.catalogue import bins, lots, parts
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.common.records import Holding
from inventory.domain.movements import receive
from inventory.domain.reorder import stock_dates
from inventory.domain.stocktake import count_entry, count_review, count_walks, level_readings
from seed.data_files import DatedLotRow, read_rows
from seed.demo_bench import FIRST_DAY, DemoBench

READING_DAYS = 24
COUNT_DAYS = 31
BINS_A_COUNT = 6
MISCOUNT_SHARE = 0.07


def schedule_upkeep(bench: DemoBench) -> None:
    """Write readings, counts and moves into the diary."""
    for turn, line in enumerate(read_rows("consumption")):
        if line["keeps_days"]:
            bench.keeps_days[line["part"]] = int(line["keeps_days"])
        for days in range(FIRST_DAY - 15 - turn, 4, -READING_DAYS):
            part, use = line["part"], int(line["per_month"]) * READING_DAYS / 30
            bench.on(days, "17:30", partial(_read_consumable, bench, part, use))
    for lot in bench.sheets.dated_lots:
        bench.on(lot.received_days_ago, "11:15", partial(_receive_dated_lot, bench, lot))
    for turn, days in enumerate(range(FIRST_DAY - 40, 6, -COUNT_DAYS)):
        bench.on(days, "17:00", partial(_count_walk, bench, turn))
    bench.just(1, "18:10", lambda: start_todays_walk(bench))
    for days, hour, action in ((41, "09:30", _open_bag), (41, "17:15", _close_bag), (3, "16:00", _open_bag)):
        bench.just(days, hour, partial(action, bench, "OT-809"))


# ---- by level --------------------------------------------------------------------------------------------


def _read_consumable(bench: DemoBench, number: str, use: float) -> None:
    """Read how much of a consumable is left, opened lot first."""
    used = round(use * bench.rng.uniform(0.5, 1.5))
    for holding in _opened_first(bench, number):
        left = max(0, holding.quantity - used)
        if left != holding.quantity:
            record_level(bench, holding, left)
        used -= holding.quantity - left
        if used <= 0:
            return


def _opened_first(bench: DemoBench, number: str) -> list[Holding]:
    return sorted(
        bins.holdings(part_id=bench.id(number)),
        key=lambda holding: (str(holding.lot.best_before or "9999"), holding.lot.id),
    )


def record_level(bench: DemoBench, holding: Holding, left: int) -> None:
    """Read a lot at so many base units, the way its part is read; open it first, or the next when it is empty."""
    by = bench.someone()
    if lots.lot(holding.lot.id).opened is None:
        stock_dates.open_lot(holding.lot.id, by=by)
    known = level_readings.level_method(holding.lot.part_id)
    here = pick_sources(holding.lot.part_id, holding.bin.id)
    empty = not left and known.full is not None and holding.quantity <= known.full
    if empty and len(here) > 1 and here[0].lot.id == holding.lot.id:
        level_readings.open_next_container(holding.lot.part_id, holding.bin.id, by=by)
        return
    value, way_of = _reading_value(known, holding.quantity, left, parts.part(holding.lot.part_id).unit)
    level_readings.record_reading(holding.lot.id, holding.bin.id, value, by=by, way_of=way_of)


def _reading_value(known: level_readings.LevelMethodRecord, booked: int, left: int, unit: str) -> tuple[str, str]:
    """Return what is read off a bottle or reel of which so much is left, and the way it is read."""
    full = known.full or booked
    open_one = left - max(0, -(-booked // full) - 1) * full
    if known.read_by == "percent" and open_one >= 0:
        return f"{Decimal(100 * open_one) / full:f}", "percent"
    if known.read_by == "weight" and open_one >= 0:
        return f"{known.tare or 0:g}" if not open_one else f"{(known.tare or 0) + open_one:g}", "weight"
    return f"{left} {unit}", ""


def _receive_dated_lot(bench: DemoBench, lot: DatedLotRow) -> None:
    """Receive a dated lot, and write down the readings that lead to what is left of it now."""
    offer = bench.offers[lot.part][0]
    receipt = receive.receive(
        bench.id(lot.part), lot.quantity, bench.bin_of(lot.part), supplier_id=offer.supplier_id, by=bench.someone(),
        cost_minor=offer.price_minor * lot.quantity // offer.pack,
        best_before=bench.today + timedelta(days=lot.best_before_in_days),
    ).made_lot  # fmt: skip
    assert receipt is not None
    last = max(3, -lot.best_before_in_days + 5) if not lot.left_now else 3
    readings = 5
    for step in range(1, readings + 1):
        days = lot.received_days_ago - (lot.received_days_ago - last) * step // readings
        left = lot.quantity - (lot.quantity - lot.left_now) * step // readings
        if left < lot.quantity:
            bench.on(days, "17:35", partial(_level_of, bench, receipt.id, left))


def _level_of(bench: DemoBench, lot_id: int, left: int) -> None:
    for holding in bins.holdings(lot_id=lot_id):
        if holding.quantity != left:
            record_level(bench, holding, left)


# ---- moisture --------------------------------------------------------------------------------------------


def _open_bag(bench: DemoBench, number: str) -> None:
    """Take a moisture-sensitive part out of its bag, if there is any."""
    holdings = bins.holdings(part_id=bench.id(number))
    if holdings:
        stock_dates.open_lot(holdings[-1].lot.id, by=bench.tomas)


def _close_bag(bench: DemoBench, number: str) -> None:
    for bag in stock_dates.open_bags():
        if bag.lot.part_id == bench.id(number):
            stock_dates.close_bag(bag.lot.id, by=bench.tomas)


# ---- counting --------------------------------------------------------------------------------------------


def _count_walk(bench: DemoBench, turn: int) -> None:
    """Walk past some bins of single parts; what is small and moves fast is off by one now and then."""
    names = [bin_.name for bin_ in bench.sheets.bins if not bin_.mixed]
    first = turn * BINS_A_COUNT % len(names)
    chosen = [name for name in (names + names)[first : first + BINS_A_COUNT] if _is_counted(bench, name)]
    if not chosen:
        return
    walk = count_walks.start_walk([bench.bins[name].id for name in chosen], blind=turn % 3 > 0, by=bench.owner)
    for name in chosen:
        counts = {}
        for holding in bins.holdings(bin_id=bench.bins[name].id):
            off = bench.rng.choice((-2, -1, -1, 1)) if bench.rng.random() < MISCOUNT_SHARE else 0
            counts[holding.lot.id] = max(0, holding.quantity + off)
        enter_count(walk.id, bench.bins[name].id, counts, by=bench.owner)
    differs = [difference.bin.id for difference in count_review.walk_differences(walk.id)]
    count_review.book_bins(walk.id, differs, reason="count walk", by=bench.owner)
    count_review.end_walk(walk.id)


def _is_counted(bench: DemoBench, name: str) -> bool:
    """Return whether the part of a bin is counted; bottles and reels are read instead."""
    number = next(part.number for part in bench.sheets.parts.values() if part.bin == name)
    return bench.sheets.parts[number].kept == "counted"


def enter_count(walk_id: int, bin_id: int, counts: dict[int, int], by: int) -> None:
    """Enter the count of a bin, twice when the first one differs from the records."""
    for _ in range(2):
        to_count = count_walks.bin_to_count(walk_id, bin_id)
        counted = {lot.lot.id: counts.get(lot.lot.id, 0) for lot in to_count.lots}
        if count_entry.enter_count(walk_id, bin_id, counted, line=to_count.line, by=by).bin.state != "recount":
            return


def start_todays_walk(bench: DemoBench) -> None:
    """Begin the walk that is under way today: some bins counted, one with a difference that waits for review."""
    names = [f"G-{number:02}" for number in range(1, 13)]
    note = "Small electrical, to be ended tomorrow"
    walk = count_walks.start_walk([bench.bins[name].id for name in names], note=note, by=bench.owner)
    for name in names[:5]:
        holdings = bins.holdings(bin_id=bench.bins[name].id)
        counts = {holding.lot.id: holding.quantity for holding in holdings}
        if name == names[2] and holdings:
            counts[holdings[-1].lot.id] = max(0, holdings[-1].quantity - 1)
        enter_count(walk.id, bench.bins[name].id, counts, by=bench.owner)
