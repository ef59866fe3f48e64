"""Measures what the stock is worth on a day, told from a ledger of 100,000 lines."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from pathlib import Path

from inventory.domain.money.stock_value import stock_value_by_month, stock_value_on
from inventory.store import connection
from inventory.store.connection import execute
from tests.benchmarks.trace import UNITS_A_LOT, large_ledger

ROWS = 100_000
PARTS, BINS = 3000, 800
_PART = (
    "INSERT INTO parts (id, number, name, kind, kept, unit, maker, maker_number, attributes, hazards, caution, note,"
    " catalogued, retired, search, version)"
    " VALUES (?, ?, 'header', 'connector', 'counted', 'piece', '', '', '{}', '[]', '', '', 0, 0, '', 1)"
)
_LOT = (
    "INSERT INTO lots (id, code, part_id, origin, origin_note, received, quantity, cost_minor, maker_lot, date_code,"
    " raw_code, note, on_hold, version) VALUES (?, ?, ?, 'delivery', '', 0, 50, ?, '', '', '', '', 0, 1)"
)
_BIN = (
    "INSERT INTO bins (id, code, name, mixed, walk, note, retired, created, version)"
    " VALUES (?, ?, ?, 0, 0, '', 0, 0, 1)"
)


def value_seconds(folder: Path) -> tuple[float, float, float]:
    """Return seconds of reading the lines by plain SQL, of the value on a day, and of that at each month's end."""
    within = folder / "value"
    within.mkdir()
    large_ledger(within, ROWS)
    execute("PRAGMA foreign_keys=OFF")
    with connection.transaction():
        for key in range(1, PARTS + 1):
            execute(_PART, key, f"P{key}")
        for key in range(1, ROWS // UNITS_A_LOT + 1):
            execute(_LOT, key, f"L{key}", key % PARTS + 1, None if key % 10 == 0 else 1000 + key)
        for key in range(1, BINS + 1):
            execute(_BIN, key, f"B{key}", f"B{key}")
    read = _median_of_runs(lambda: execute("SELECT * FROM movements ORDER BY id").fetchall())
    value = read, _median_of_runs(stock_value_on), _median_of_runs(stock_value_by_month)
    connection.database.close()
    return value


def _median_of_runs(act: Callable[[], object], times: int = 5) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)
