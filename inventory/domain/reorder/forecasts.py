"""Saves every advice, to be compared later with what happened (see ``forecast_scores``).

A part has at most one saved advice a day. Only one at a time counts, so that no use is counted twice: while one
that counts is open, later ones of the part are saved for the record only.
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
from inventory.store.fields import MICROS_PER_DAY, from_micros, to_micros

FOLLOW_GRACE = timedelta(days=1)  # on top of the time between looks: an order this soon follows the advice
RETENTION = timedelta(days=3 * 365)
_INSERT = (
    "INSERT INTO forecasts (part_id, day, given, until, follow_days, promise, target, portion, position, promised,"
    " level, level_kept, risk, counts) VALUES {rows} ON CONFLICT (part_id, day) DO NOTHING"
)
_saved_today: tuple[Any, str, set[int]] = (None, "", set())  # database, day, parts of that day
_lock = threading.Lock()


def save_forecasts(
    assessment: ReorderAssessment, individually: bool = True, allow_in_transaction: bool = False
) -> int:
    """Save today's advice for each part; return how many were saved.

    Of a whole list (not looked at *individually*) parts are left out that need no order and have an advice open.
    Inside a transaction nothing is saved, unless allowed: what is read there is advice given to nobody.
    """
    if database.in_transaction() and not allow_in_transaction:
        return 0
    with _lock:
        places = _places_not_saved_today(assessment)
        rows = _rows_to_save(assessment, places, individually) if len(places) else []
        if rows:
            _insert_rows(rows)
            _saved_today[2].update(row[0] for row in rows)
    return len(rows)


def delete_old_forecasts() -> int:
    """Delete advice older than three years; return how many were deleted."""
    with transaction():
        return int(execute("DELETE FROM forecasts WHERE given < ?", to_micros(clock.now() - RETENTION)).rowcount)


def _places_not_saved_today(assessment: ReorderAssessment) -> IntArray:
    """Return the places of parts whose advice this process has not saved today."""
    global _saved_today
    day = clock.today().isoformat()
    if _saved_today[0] is not database.obj or _saved_today[1] != day:
        _saved_today = (database.obj, day, set())
    saved = _saved_today[2]
    ids = assessment.beliefs.part_id.tolist()
    return np.array(
        [place for place, part in enumerate(ids) if part not in saved and not assessment.beliefs.retired[place]],
        np.int64,
    )


def _rows_to_save(assessment: ReorderAssessment, places: IntArray, individually: bool) -> list[tuple[Any, ...]]:
    with_open_forecast = {
        int(part) for (part,) in execute("SELECT part_id FROM forecasts WHERE counts AND scored IS NULL")
    }
    counts = np.array([int(part) not in with_open_forecast for part in assessment.beliefs.part_id[places]], bool)
    due = assessment.position[places] < assessment.level[places]
    selected = counts | due | individually
    return _forecast_rows(assessment, places[selected], counts[selected], due[selected])


def _insert_rows(rows: list[tuple[Any, ...]]) -> None:
    marks = f"({', '.join('?' * len(rows[0]))})"
    with transaction():
        for batch in batches(rows):
            execute(_INSERT.format(rows=", ".join([marks] * len(batch))), *(value for row in batch for value in row))


def _forecast_rows(
    assessment: ReorderAssessment, places: IntArray, counts: BoolArray, due: BoolArray
) -> list[tuple[Any, ...]]:
    """Return the rows to save, in the order of the table's columns."""
    now, beliefs = to_micros(clock.now()), assessment.beliefs
    day = clock.today().isoformat()
    follow = math.ceil(beliefs.shop.looks_days + FOLLOW_GRACE.days)
    until = now + np.round(_draw_delivery_days(assessment, places) * MICROS_PER_DAY).astype(np.int64)
    return [
        (
            int(beliefs.part_id[p]), day, now, int(until[n]), follow if due[n] else None,
            str(ServiceMeasure.NEXT_JOB if beliefs.next_job[p] else ServiceMeasure.NO_STOCK_OUT),
            float(beliefs.target[p]), int(assessment.portion[p]), int(assessment.position[p]),
            assessment.stock_of(p).promised, int(assessment.level[p]),
            None if math.isnan(assessment.level_kept[p]) else float(assessment.level_kept[p]),
            float(assessment.broken[p]), bool(counts[n]),
        )
        for n, p in enumerate(places.tolist())
    ]  # fmt: skip


def _days_since_first_line() -> int:
    first = execute("SELECT at FROM movements ORDER BY id LIMIT 1").fetchone()
    return max(0, (clock.today() - from_micros(int(first[0])).date()).days) if first else 0


def _draw_delivery_days(assessment: ReorderAssessment, places: IntArray) -> FloatArray:
    """Return, for each part, the days until its next delivery: drawn from the spread of its lead time.

    Scoring after the mean time instead would leave out slow deliveries, and so flatter the promise. The draw
    depends on the part and the ledger's age in days alone, so the same history draws the same on any date.
    """
    interval = assessment.supply.interval.take(assessment.best_option[places])
    entries, row_of = np.unique(interval.entry, return_inverse=True)
    days, chances = interval.waits.chances(entries)
    below = np.cumsum(chances, axis=1)
    ids = assessment.beliefs.part_id[places]
    draw = np.random.default_rng(_days_since_first_line()).random(int(ids.max(initial=0)) + 1)[ids]
    drawn = days[np.minimum((below[row_of] < draw[:, None]).sum(axis=1), len(days) - 1)]
    total: FloatArray = drawn + interval.looks_days
    return total
