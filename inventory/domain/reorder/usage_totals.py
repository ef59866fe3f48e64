"""The use of every part, summed up and remembered: a movement makes only its own part be reckoned anew.

What is remembered follows from the ledger alone, which never changes behind its end: each call reads which parts
the lines added since are about, sums up those, and lets the others fade to the present moment. So any number of
processes may remember for themselves, and none can be wrong for long.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inventory.domain.common import clock
from inventory.domain.common.validation import PART_KINDS, PROMISES
from inventory.domain.reorder.usage import use_events
from inventory.reckoning.reorder.demand import (
    BoolArray,
    DemandConstants,
    DemandStatistics,
    EventHistory,
    FloatArray,
    IntArray,
    age_statistics,
    demand_statistics,
    event_history,
)
from inventory.reckoning.reorder.portions import to_portions, usual_portions
from inventory.store import ledger
from inventory.store.connection import database, execute
from inventory.store.fields import from_micros, to_micros

DAY_MICROS = 86_400_000_000  # microseconds
MAX_PARTS_IN_FILTER = 400  # so many parts are summed up one by one; more, all together


@dataclass(frozen=True)
class PartColumns:
    """What the reckoning must know of each part, ascending by id. ``level`` -1, ``target`` NaN: not set."""

    id: IntArray
    version: IntArray
    kind: IntArray  # place in KINDS
    bulk: BoolArray  # kept in another unit than pieces
    catalogued: IntArray  # microseconds
    first_job: IntArray  # the job it was catalogued for, 0: none
    level: IntArray
    target: FloatArray
    promise: IntArray  # place in PROMISES, -1: not set
    retired: BoolArray

    def rows_of(self, part_ids: Any) -> IntArray:
        """Return the places of parts that are among these."""
        return np.searchsorted(self.id, np.asarray(part_ids, np.int64)).astype(np.int64)


@dataclass(frozen=True)
class UsageTotals:
    """The use of every part as it stands now. ``portion``: base units that a part is counted in, 0: not known."""

    parts: PartColumns
    stats: DemandStatistics
    portion: IntArray


@dataclass(frozen=True)
class _Cache:
    """What is remembered, and the line of the ledger up to which it is true."""

    database: Any
    line: int
    digest: str
    mark: tuple[int, ...]  # tells whether any part was changed
    constants: DemandConstants
    sums: UsageTotals
    at: IntArray  # when each part was summed up, microseconds


_cache: _Cache | None = None
_cache_lock = threading.Lock()


def usage_totals(constants: DemandConstants) -> UsageTotals:
    """Return the use of every part as of now."""
    global _cache
    with _cache_lock:
        now = to_micros(clock.now())
        known = _cache if _cache is not None and _is_cache_valid(_cache, constants, now) else None
        fresh = _refreshed(known, constants, now)
        if not database.in_transaction():  # what a transaction sees may yet be undone
            _cache = fresh
    days = (now - fresh.at) / DAY_MICROS
    return replace(fresh.sums, stats=age_statistics(fresh.sums.stats, days, constants))


def totals_computed_at(part_id: int) -> datetime | None:
    """Return when what is remembered of a part was last summed up from the ledger (None: it is not remembered)."""
    known = _cache
    if known is None or part_id not in known.sums.parts.id:
        return None
    return from_micros(int(known.at[known.sums.parts.rows_of(part_id)]))


def clear_cache() -> None:
    """Forget everything: the next call sums up the whole ledger."""
    global _cache
    with _cache_lock:
        _cache = None


def _is_cache_valid(kept: _Cache, constants: DemandConstants, now: int) -> bool:
    """Tell whether the ledger still has the line up to which *kept* is true, and time went forward."""
    if kept.database is not database.obj or kept.constants != constants or (len(kept.at) and now < kept.at.max()):
        return False
    found = (
        execute("SELECT digest FROM movements WHERE id = ?", kept.line).fetchone()
        if kept.line
        else (ledger.GENESIS_DIGEST,)
    )
    return found is not None and found[0] == kept.digest


def _refreshed(known: _Cache | None, constants: DemandConstants, now: int) -> _Cache:
    line, digest = ledger.head()
    mark = tuple(execute("SELECT COUNT(*), COALESCE(SUM(version), 0), COALESCE(MAX(id), 0) FROM parts").fetchone())
    if known is not None and (known.line, known.mark) == (line, mark):
        return known
    parts = known.sums.parts if known is not None and known.mark == mark else _read_parts()
    base = _realigned(known, parts, constants, now)
    stale = _stale_rows(known, parts, line)
    if len(stale):
        base = _with_rows_replaced(base, stale, _totals_of_rows(parts, stale, constants, now), now)
    return replace(base, line=int(line), digest=str(digest), mark=mark)


def _realigned(known: _Cache | None, parts: PartColumns, constants: DemandConstants, now: int) -> _Cache:
    """Give every part of *parts* its place, with what was known of it."""
    size = len(parts.id)
    stats = DemandStatistics(*(np.zeros(size) for _ in range(4)))
    fresh = _Cache(
        database.obj,
        0,
        ledger.GENESIS_DIGEST,
        (),
        constants,
        UsageTotals(parts, stats, np.zeros(size, np.int64)),
        np.full(size, now),
    )
    if known is None:
        return fresh
    old = known.sums
    both, at_old, at_new = np.intersect1d(old.parts.id, parts.id, assume_unique=True, return_indices=True)
    if len(both) == size == len(old.parts.id):
        return replace(known, sums=replace(old, parts=parts))
    return _with_rows_replaced(
        fresh, at_new, UsageTotals(parts, old.stats.take(at_old), old.portion[at_old]), known.at[at_old]
    )


def _with_rows_replaced(base: _Cache, rows: IntArray, some: UsageTotals, at: Any) -> _Cache:
    """Return *base* with the statistics and portions of some rows replaced."""

    def placed(old: NDArray[Any], new: Any) -> NDArray[Any]:
        copy = old.copy()
        copy[rows] = new
        return copy

    before, after = base.sums.stats, some.stats
    stats = DemandStatistics(*(placed(getattr(before, n), getattr(after, n)) for n in ("k", "s", "kz", "T")))
    sums = UsageTotals(base.sums.parts, stats, placed(base.sums.portion, some.portion))
    return replace(base, sums=sums, at=placed(base.at, at))


# what moved, and what it stood in for: that is whose use it is
_MOVED = """
SELECT part_id FROM movements WHERE id > ? AND id <= ?
UNION SELECT part_id FROM stand_ins WHERE instead_id IN (SELECT part_id FROM movements WHERE id > ? AND id <= ?)
"""


def _stale_rows(known: _Cache | None, parts: PartColumns, line: int) -> IntArray:
    """Return the rows of parts that are new, were edited, or have moved in the lines since, up to *line*."""
    if known is None:
        return np.arange(len(parts.id))
    old = known.sums.parts
    at = np.minimum(np.searchsorted(old.id, parts.id), max(0, len(old.id) - 1))
    same = (
        (old.id[at] == parts.id) & (old.version[at] == parts.version)
        if len(old.id)
        else np.zeros(len(parts.id), bool)
    )
    moved = execute(_MOVED, known.line, line, known.line, line).fetchall()
    return np.union1d(np.flatnonzero(~same), parts.rows_of([part for (part,) in moved])).astype(np.int64)


def _totals_of_rows(parts: PartColumns, rows: IntArray, constants: DemandConstants, now: int) -> UsageTotals:
    """Sum up the use of some parts from the ledger."""
    events, portion = _dated_uses(parts, rows, now)
    return UsageTotals(parts, demand_statistics(events, constants), portion)


def use_history() -> tuple[PartColumns, IntArray, EventHistory]:
    """Return every dated use of the parts not retired: what is known of all parts, the rows of these, their uses."""
    parts = _read_parts()
    rows = np.flatnonzero(~parts.retired)
    return parts, rows, _dated_uses(parts, rows, to_micros(clock.now()))[0]


def _dated_uses(parts: PartColumns, rows: IntArray, now: int) -> tuple[EventHistory, IntArray]:
    """Return the dated uses of some parts in portions, and what each part's portion is."""
    ids = parts.id[rows]
    found = use_events(ids.tolist() if len(rows) <= MAX_PARTS_IN_FILTER else None)
    wanted = np.isin(found.part_id, ids)
    part = np.searchsorted(ids, found.part_id[wanted])
    quantity, job, at = found.quantity[wanted], found.job_id[wanted], found.at[wanted]
    bulk = parts.bulk[rows]
    portion = np.where(bulk, usual_portions(part, quantity, len(rows)), 1)
    events = event_history(
        part,
        (now - at) / DAY_MICROS,
        to_portions(quantity, portion[part]),
        (now - parts.catalogued[rows]) / DAY_MICROS,
        first_job=job == parts.first_job[rows][part],
    )
    return events, portion.astype(np.int64)


_PARTS = (
    "SELECT id, version, kind, CASE WHEN unit = 'piece' THEN 0 ELSE 1 END, catalogued, catalogued_for_id, level,"
    " target, promise, CASE WHEN retired THEN 1 ELSE 0 END FROM parts ORDER BY id"
)


def _read_parts() -> PartColumns:
    rows: Sequence[Any] = execute(_PARTS).fetchall()
    columns: list[Any] = list(zip(*rows, strict=True)) or [()] * 10
    place = {kind: number for number, kind in enumerate(PART_KINDS)}
    return PartColumns(
        id=_int_array(columns[0]),
        version=_int_array(columns[1]),
        kind=_int_array([place[kind] for kind in columns[2]]),
        bulk=_int_array(columns[3]) == 1,
        catalogued=_int_array(columns[4]),
        first_job=_int_array([job or 0 for job in columns[5]]),
        level=_int_array([-1 if level is None else level for level in columns[6]]),
        target=np.array([np.nan if share is None else share for share in columns[7]], float),
        promise=_int_array([-1 if column is None else PROMISES.index(column) for column in columns[8]]),
        retired=_int_array(columns[9]) == 1,
    )


def _int_array(values: Sequence[Any]) -> IntArray:
    return np.array(values, np.int64)
