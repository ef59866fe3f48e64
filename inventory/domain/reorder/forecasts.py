"""The promise kept visible: every advice is remembered, to be held against what happened (see ``promise_scores``).

A part has at most one remembered advice a day. Only one at a time counts, so that no use is counted twice: while one
that counts is open, later ones of the part are kept for the record only.
"""

from __future__ import annotations

import math
import threading
from datetime import timedelta
from typing import Any

import numpy as np

from inventory.domain.common import clock
from inventory.domain.reorder.reorder_assessment import ReorderAssessment
from inventory.reckoning.reorder.demand import BoolArray, FloatArray, IntArray
from inventory.reckoning.reorder.service_level import ServiceMeasure
from inventory.store.connection import batches, database, execute, transaction
from inventory.store.fields import from_micros, to_micros

DAY_MICROS = 86_400_000_000  # microseconds
FOLLOW_GRACE = timedelta(days=1)  # on top of the time between looks: an order this soon follows the advice
RETENTION = timedelta(days=3 * 365)
_INSERT = (
    "INSERT INTO forecasts (part_id, day, given, until, follow_days, promise, target, portion, position, promised,"
    " level, level_kept, risk, counts) VALUES {rows} ON CONFLICT (part_id, day) DO NOTHING"
)
_saved_today: tuple[Any, str, set[int]] = (None, "", set())  # database, day, parts of that day
_lock = threading.Lock()


def save_forecasts(advised: ReorderAssessment, individually: bool = True, allow_in_transaction: bool = False) -> int:
    """Keep today's advice for each part; return how many were kept.

    Of a whole list (not *looked_at* one by one) parts are left out that need no order and have an advice open.
    Inside a transaction nothing is kept, unless asked for: what is read there is no advice given to anybody.
    """
    if database.in_transaction() and not allow_in_transaction:
        return 0
    with _lock:
        fresh = _places_not_saved_today(advised)
        rows = _rows_to_save(advised, fresh, individually) if len(fresh) else []
        if rows:
            _insert_rows(rows)
            _saved_today[2].update(row[0] for row in rows)
    return len(rows)


def delete_old_forecasts() -> int:
    """Drop advice older than three years; return how many went."""
    with transaction():
        return int(execute("DELETE FROM forecasts WHERE given < ?", to_micros(clock.now() - RETENTION)).rowcount)


def _places_not_saved_today(advised: ReorderAssessment) -> IntArray:
    """Return the places of parts whose advice this process has not kept today."""
    global _saved_today
    day = clock.today().isoformat()
    if _saved_today[0] is not database.obj or _saved_today[1] != day:
        _saved_today = (database.obj, day, set())
    known = _saved_today[2]
    ids = advised.believed.part_id.tolist()
    return np.array(
        [place for place, part in enumerate(ids) if part not in known and not advised.believed.retired[place]],
        np.int64,
    )


def _rows_to_save(advised: ReorderAssessment, places: IntArray, looked_at: bool) -> list[tuple[Any, ...]]:
    open_ones = {int(part) for (part,) in execute("SELECT part_id FROM forecasts WHERE counts AND scored IS NULL")}
    counts = np.array([int(part) not in open_ones for part in advised.believed.part_id[places]], bool)
    due = advised.position[places] < advised.level[places]
    wanted = counts | due | looked_at
    return _forecast_rows(advised, places[wanted], counts[wanted], due[wanted])


def _insert_rows(rows: list[tuple[Any, ...]]) -> None:
    marks = f"({', '.join('?' * len(rows[0]))})"
    with transaction():
        for batch in batches(rows):
            execute(_INSERT.format(rows=", ".join([marks] * len(batch))), *(value for row in batch for value in row))


def _forecast_rows(
    advised: ReorderAssessment, places: IntArray, counts: BoolArray, due: BoolArray
) -> list[tuple[Any, ...]]:
    """Return what is kept of each advice, in the order of the table's columns."""
    now, believed = to_micros(clock.now()), advised.believed
    day = clock.today().isoformat()
    follow = math.ceil(believed.shop.looks_days + FOLLOW_GRACE.days)
    until = now + np.round(_draw_delivery_days(advised, places) * DAY_MICROS).astype(np.int64)
    return [
        (
            int(believed.part_id[p]),
            day,
            now,
            int(until[n]),
            follow if due[n] else None,
            str(ServiceMeasure.NEXT_JOB if believed.next_job[p] else ServiceMeasure.NO_STOCK_OUT),
            float(believed.target[p]),
            int(advised.portion[p]),
            int(advised.position[p]),
            advised.stock_of(p).promised,
            int(advised.level[p]),
            None if math.isnan(advised.level_kept[p]) else float(advised.level_kept[p]),
            float(advised.broken[p]),
            bool(counts[n]),
        )
        for n, p in enumerate(places.tolist())
    ]


def _days_since_first_line() -> int:
    first = execute("SELECT at FROM movements ORDER BY id LIMIT 1").fetchone()
    return max(0, (clock.today() - from_micros(int(first[0])).date()).days) if first else 0


def _draw_delivery_days(advised: ReorderAssessment, places: IntArray) -> FloatArray:
    """Return, for each part, the days until its next delivery: drawn from the spread of its lead time.

    Looking after the mean time instead would leave out the slow deliveries, and so flatter the promise. The draw
    depends on the part and the ledger's age in days alone, so the same history draws the same on any date.
    """
    interval = advised.ways.interval.take(advised.best_way[places])
    entries, row_of = np.unique(interval.entry, return_inverse=True)
    days, chances = interval.waits.chances(entries)
    below = np.cumsum(chances, axis=1)
    ids = advised.believed.part_id[places]
    draw = np.random.default_rng(_days_since_first_line()).random(int(ids.max(initial=0)) + 1)[ids]
    drawn = days[np.minimum((below[row_of] < draw[:, None]).sum(axis=1), len(days) - 1)]
    whole: FloatArray = drawn + interval.looks_days
    return whole
