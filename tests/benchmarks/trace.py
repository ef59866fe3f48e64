"""Measures a recall's question on a large ledger: which jobs got something of a lot, and the other way round.

The bar is a multiple of a look-up by primary key in the same table, measured in the same run.
"""

from __future__ import annotations

import itertools
import random
import sqlite3
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from inventory.store import connection, job_use, schema

ROWS = 1_000_000
UNITS_A_LOT = 25  # lines a lot: its receipt, twenty pulls, two put backs, two counts
JOBS = 100_000
_LINE = (
    "INSERT INTO movements (id, entry, at, kind, part_id, lot_id, bin_id, piece_id, quantity, job_id, person_id,"
    " reason, one_off, reverses_id, digest) VALUES (?, ?, ?, ?, ?, ?, ?, NULL, ?, ?, NULL, '', 0, NULL, ?)"
)


def large_ledger(folder: Path, rows: int = ROWS) -> None:
    """Bind a database with so many lines in its ledger, and bring their indexes up when all are in."""
    path = folder / "large.db"
    connection.bind_database(f"sqlite:///{path}")
    connection.connect()
    schema.migrate()
    connection.database.close()
    db = sqlite3.connect(path, isolation_level=None)
    db.executescript("PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA cache_size=-200000;")
    query = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND tbl_name = 'movements' AND sql IS NOT NULL"
    indexes = db.execute(query).fetchall()
    db.execute("BEGIN")
    for name, _ in indexes:
        db.execute(f'DROP INDEX "{name}"')
    db.executemany(_LINE, itertools.islice(_lines(), rows))
    for _, sql in indexes:
        db.execute(sql)
    db.execute("COMMIT")
    db.execute("ANALYZE")
    db.execute("PRAGMA journal_mode=WAL")
    db.close()
    connection.connect()


def _lines() -> Iterator[tuple[Any, ...]]:
    """Yield lines as a bench writes them: lots used up over some hundred jobs, several lots in a job."""
    chance, digest, number = random.Random(6), "0" * 64, 0
    for lot in itertools.count(1):
        start = lot * JOBS * UNITS_A_LOT // ROWS
        acts = [("receive", 50, None)]
        acts += [("pull", -chance.randint(1, 3), max(1, start - chance.randrange(400))) for _ in range(20)]
        acts += [("put back", 1, acts[-1][2]), ("put back", 1, acts[-2][2]), ("count", -1, None), ("count", 0, None)]
        for kind, quantity, job in acts:
            number += 1
            yield number, number, number * 1_000_000, kind, lot % 3000 + 1, lot, lot % 800 + 1, quantity, job, digest


def trace_ratios(folder: Path) -> tuple[float, float, float]:
    """Return a key look-up in milliseconds, and the two traces as multiples of it."""
    large_ledger(folder)
    chance = random.Random(7)
    lots = [chance.randint(500, ROWS // UNITS_A_LOT - 500) for _ in range(2000)]
    jobs = [chance.randint(500, JOBS - 500) for _ in range(2000)]
    keys = [chance.randint(1, ROWS) for _ in range(2000)]
    by_key = _median_ms(lambda key: connection.execute("SELECT * FROM movements WHERE id = ?", key).fetchone(), keys)
    of_lot, of_job = _median_ms(job_use.of_lot, lots), _median_ms(job_use.of_job, jobs)
    connection.database.close()
    return by_key, of_lot / by_key, of_job / by_key


def _median_ms(act: Callable[[int], Any], keys: list[int]) -> float:
    """Return the median time of *act* over *keys* in milliseconds; each is asked once before, to warm up."""
    for key in keys:
        act(key)
    taken = []
    for key in keys:
        start = time.perf_counter()
        act(key)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken) * 1000
