"""Measures the reorder list of a large shop: 10,000 parts with three years of history, advised from the database.

The floor is reading the same rows by plain SQL, measured in the same run.
"""

from __future__ import annotations

import random
import sqlite3
import statistics
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from inventory.domain.movements import pull
from inventory.domain.reorder import reorder_list, usage_totals
from inventory.domain.reorder.reorder_assessment import assess_reorder
from inventory.store import connection, schema
from inventory.store.fields import to_micros
from tests.factories import a_job

PARTS, SUPPLIERS, JOBS, YEARS = 10_000, 60, 12_000, 3
NOW = datetime.now(UTC)
DAY = 86_400_000_000  # microseconds
_READ_ROWS_SQL = (
    "SELECT part_id, job_id, at, quantity, kind, one_off FROM movements WHERE kind IN ('pull', 'put back')",
    "SELECT id, version, kind, catalogued, level, target FROM parts",
    "SELECT part_id, supplier_id, pack, minimum, price_minor, breaks, lead_days FROM offers",
    "SELECT part_id, SUM(quantity) FROM balances GROUP BY part_id",
)


def large_shop(folder: Path) -> int:
    """Bind a database with such a shop in it; return how many lines its ledger has."""
    path = folder / "shop.db"
    connection.bind_database(f"sqlite:///{path}")
    connection.connect()
    schema.migrate()
    connection.database.close()
    db = sqlite3.connect(path, isolation_level=None)
    db.executescript("PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF;")
    chance = random.Random(3)
    db.execute("BEGIN")
    every = range(1, PARTS + 1)
    _insert_rows(db, "suppliers", (_supplier(n, chance) for n in range(1, SUPPLIERS + 1)))
    _insert_rows(db, "parts", (_part(n, chance) for n in every))
    _insert_rows(db, "bins", ({"code": f"B{n:08}", "name": f"A-{n}", "part_id": n, "created": 0} for n in every))
    _insert_rows(
        db, "jobs", ({"code": f"J{n:08}", "number": str(n), "opened": 0, "search": ""} for n in range(1, JOBS + 1))
    )
    _insert_rows(db, "lots", (_lot(n) for n in every))
    _insert_rows(db, "offers", (offer for n in every for offer in _offers(n, chance)))
    _insert_rows(db, "balances", (_balance(n, chance) for n in every))
    lines = _insert_rows(db, "movements", _lines(chance))
    db.execute("UPDATE ledger_head SET last = ?, digest = ?", (lines, f"{lines:064}"))
    db.execute("COMMIT")
    db.execute("ANALYZE")
    db.execute("PRAGMA journal_mode=WAL")
    db.close()
    connection.connect()
    return lines


def _insert_rows(db: sqlite3.Connection, table: str, rows: Iterator[dict[str, Any]]) -> int:
    """Write rows into a table, with its own defaults for what they leave out; return how many."""
    from inventory.store.tables import all_tables

    fields = next(row_table for row_table in all_tables() if row_table._meta.table_name == table)._meta.sorted_fields
    defaults = {f.column_name: f.default for f in fields if f.default is not None and not callable(f.default)}
    names = [f.column_name for f in fields if f.column_name != "id" or table == "movements"]
    sql = f"INSERT INTO {table} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})"
    cursor = db.executemany(sql, ([{**defaults, **row}.get(name) for name in names] for row in rows))
    return cursor.rowcount


def _supplier(number: int, chance: random.Random) -> dict[str, Any]:
    return {"name": f"Supplier {number}", "lead_days": chance.randint(2, 30), "shipping_minor": 900, "created": 0}


def _balance(part: int, chance: random.Random) -> dict[str, Any]:
    return {"bin_id": part, "lot_id": part, "part_id": part, "quantity": chance.choice((0, 0, 2, 5, 20, 60))}


def _part(number: int, chance: random.Random) -> dict[str, Any]:
    kind = chance.choice(("connector", "connector", "fan", "supply", "hardware", "module", "other"))
    return {
        "number": f"P-{number:05}", "name": f"Part {number}", "kind": kind, "kept": "counted", "unit": "piece",
        "attributes": "{}", "hazards": "[]", "catalogued": to_micros(NOW) - chance.randint(200, 1095) * DAY,
        "search": "",
    }  # fmt: skip


def _lot(number: int) -> dict[str, Any]:
    received = to_micros(NOW) - 1100 * DAY
    return {"code": f"L{number:08}", "part_id": number, "origin": "delivery", "received": received, "quantity": 999}


def _offers(part: int, chance: random.Random) -> Iterator[dict[str, Any]]:
    for supplier in chance.sample(range(1, SUPPLIERS + 1), chance.choice((1, 1, 2))):
        price = chance.randint(20, 5000)
        breaks = f"[[10, {price * 9 // 10}]]" if chance.random() < 0.3 else "[]"
        yield {
            "part_id": part, "supplier_id": supplier, "pack": chance.choice((1, 1, 5, 10)), "price_minor": price,
            "breaks": breaks,
        }  # fmt: skip


def _lines(chance: random.Random) -> Iterator[dict[str, Any]]:
    """Yield the pulls of three years, oldest first: most parts are used now and then, a few all the time."""
    uses = [
        (to_micros(NOW) - chance.randrange(YEARS * 365 * DAY), part, chance.choice((1, 1, 1, 2, 3)))
        for part in range(1, PARTS + 1)
        for _ in range(min(400, int(chance.gammavariate(0.5, 24))))
    ]
    for number, (moment, part, quantity) in enumerate(sorted(uses), start=1):
        yield {
            "id": number, "entry": number, "at": moment, "kind": "pull",
            "part_id": part, "lot_id": part, "bin_id": part,
            "quantity": -quantity, "job_id": chance.randint(1, JOBS), "digest": f"{number:064}",
        }  # fmt: skip


def _best_seconds(act: Callable[[], Any], times: int) -> float:
    """Return the least time of *act* in seconds: what the machine takes when nothing else is in the way."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return min(taken)


def _read_rows() -> None:
    for sql in _READ_ROWS_SQL:
        connection.execute(sql).fetchall()


def _advise_uncached() -> None:
    usage_totals.clear_cache()
    assess_reorder()


def reorder_seconds(folder: Path) -> dict[str, float]:
    """Return what was measured, in seconds: see the names."""
    lines = large_shop(folder)
    try:
        start = time.perf_counter()
        listed = reorder_list.reorder_list(limit=200)  # the first of the day, which also remembers what it advised
        first = time.perf_counter() - start
        if len(listed) < 100:
            raise SystemExit(f"Only {len(listed)} parts were to be ordered: nothing measured.")
        seconds = {
            "lines": float(lines),
            "floor": _best_seconds(_read_rows, 5),
            "first of the day": first,
            "from nothing": _best_seconds(_advise_uncached, 3),
            "again": _best_seconds(lambda: reorder_list.reorder_list(), 3),
        }
        return {**seconds, **_advise_after_pull()}
    finally:
        usage_totals.clear_cache()
        connection.database.close()


def _advise_after_pull() -> dict[str, float]:
    """Pull one part, and measure the advice that follows; it must have summed up that part and no other."""
    connection.execute("UPDATE balances SET quantity = 50 WHERE part_id = 77")
    before = {part: usage_totals.totals_computed_at(part) for part in (76, 77, 78)}
    taken = []
    for _ in range(5):
        pull.pull(1, part_id=77, job_id=a_job().id)
        taken.append(_best_seconds(lambda: reorder_list.advice_for_parts([77]), 1))
    after = {part: usage_totals.totals_computed_at(part) for part in (76, 77, 78)}
    moved = [part for part in before if before[part] != after[part]]
    if moved != [77]:
        raise SystemExit(f"A pull of part 77 made {moved} be summed up anew.")
    return {"after one pull": statistics.median(taken)}


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as made:
        for name, measured in reorder_seconds(Path(made)).items():
            print(f"{name:20} {measured:10.4f}")
