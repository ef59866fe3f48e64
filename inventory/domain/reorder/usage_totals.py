"""The use of every part, summed up and cached: after a movement only its own part is summed up again.

The cache follows from the append-only ledger alone: each call reads which parts the lines added since are about,
sums up those, and ages the others to the present moment. So each process may have its own cache.
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
from inventory.store.connection import database, execute
from inventory.store.fields import MICROS_PER_DAY, from_micros, to_micros
from inventory.store.ledger import GENESIS_DIGEST

MAX_PARTS_IN_FILTER = 400  # so many parts are summed up one by one; more, all together


@dataclass(frozen=True)
class PartColumns:
    """The columns of each part that the arithmetic needs, ascending by id. ``level`` -1, ``target`` NaN: not set."""

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
    """The cached totals, and the line of the ledger up to which they hold."""

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
        cached = _cache if _cache is not None and _is_cache_valid(_cache, constants, now) else None
        fresh = _refreshed(cached, constants, now)
        if not database.in_transaction():  # what a transaction sees may yet be undone
            _cache = fresh
    days = (now - fresh.at) / MICROS_PER_DAY
    return replace(fresh.sums, stats=age_statistics(fresh.sums.stats, days, constants))


def totals_computed_at(part_id: int) -> datetime | None:
    """Return when a part's cached totals were last summed up from the ledger (None: not cached)."""
    cached = _cache
    if cached is None or part_id not in cached.sums.parts.id:
        return None
    return from_micros(int(cached.at[cached.sums.parts.rows_of(part_id)]))


def clear_cache() -> None:
    """Empty the cache: the next call sums up the whole ledger."""
    global _cache
    with _cache_lock:
        _cache = None


def _is_cache_valid(cached: _Cache, constants: DemandConstants, now: int) -> bool:
    """Tell whether the ledger still has the line up to which *cached* holds, and time went forward."""
    if (
        cached.database is not database.obj
        or cached.constants != constants
        or (len(cached.at) and now < cached.at.max())
    ):
        return False
    row = (
        execute("SELECT digest FROM movements WHERE id = ?", cached.line).fetchone()
        if cached.line
        else (GENESIS_DIGEST,)
    )
    return row is not None and row[0] == cached.digest


def _refreshed(cached: _Cache | None, constants: DemandConstants, now: int) -> _Cache:
    line, digest = execute("SELECT last, digest FROM ledger_head WHERE id = 1").fetchone()
    mark = tuple(execute("SELECT COUNT(*), COALESCE(SUM(version), 0), COALESCE(MAX(id), 0) FROM parts").fetchone())
    if cached is not None and (cached.line, cached.mark) == (line, mark):
        return cached
    parts = cached.sums.parts if cached is not None and cached.mark == mark else _read_parts()
    base = _realigned(cached, parts, constants, now)
    stale = _stale_rows(cached, parts, line)
    if len(stale):
        base = _with_rows_replaced(base, stale, _totals_of_rows(parts, stale, constants, now), now)
    return replace(base, line=int(line), digest=str(digest), mark=mark)


def _realigned(cached: _Cache | None, parts: PartColumns, constants: DemandConstants, now: int) -> _Cache:
    """Return the cache with one row for each of *parts*, those already cached with their totals."""
    size = len(parts.id)
    stats = DemandStatistics(*(np.zeros(size) for _ in range(4)))
    empty = _Cache(
        database.obj, 0, GENESIS_DIGEST, (), constants, UsageTotals(parts, stats, np.zeros(size, np.int64)),
        np.full(size, now),
    )  # fmt: skip
    if cached is None:
        return empty
    old = cached.sums
    shared_ids, at_old, at_new = np.intersect1d(old.parts.id, parts.id, assume_unique=True, return_indices=True)
    if len(shared_ids) == size == len(old.parts.id):
        return replace(cached, sums=replace(old, parts=parts))
    return _with_rows_replaced(
        empty, at_new, UsageTotals(parts, old.stats.take(at_old), old.portion[at_old]), cached.at[at_old]
    )


def _with_rows_replaced(base: _Cache, rows: IntArray, totals: UsageTotals, at: Any) -> _Cache:
    """Return *base* with the statistics and portions of some rows replaced."""

    def replaced(old: NDArray[Any], new: Any) -> NDArray[Any]:
        copy = old.copy()
        copy[rows] = new
        return copy

    before, after = base.sums.stats, totals.stats
    stats = DemandStatistics(
        *(replaced(getattr(before, name), getattr(after, name)) for name in ("k", "s", "kz", "T"))
    )
    sums = UsageTotals(base.sums.parts, stats, replaced(base.sums.portion, totals.portion))
    return replace(base, sums=sums, at=replaced(base.at, at))


# what moved, and what it stood in for: that is whose use it is
_MOVED = """
SELECT part_id FROM movements WHERE id > ? AND id <= ?
UNION SELECT part_id FROM substitutions WHERE instead_id IN (SELECT part_id FROM movements WHERE id > ? AND id <= ?)
"""


def _stale_rows(cached: _Cache | None, parts: PartColumns, line: int) -> IntArray:
    """Return the rows of parts that are new, were edited, or have moved in the lines since, up to *line*."""
    if cached is None:
        return np.arange(len(parts.id))
    old = cached.sums.parts
    position = np.minimum(np.searchsorted(old.id, parts.id), max(0, len(old.id) - 1))
    same = (
        (old.id[position] == parts.id) & (old.version[position] == parts.version)
        if len(old.id)
        else np.zeros(len(parts.id), bool)
    )
    moved = execute(_MOVED, cached.line, line, cached.line, line).fetchall()
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
    uses = use_events(ids.tolist() if len(rows) <= MAX_PARTS_IN_FILTER else None)
    selected = np.isin(uses.part_id, ids)
    part = np.searchsorted(ids, uses.part_id[selected])
    quantity, job, at = uses.quantity[selected], uses.job_id[selected], uses.at[selected]
    bulk = parts.bulk[rows]
    portion = np.where(bulk, usual_portions(part, quantity, len(rows)), 1)
    events = event_history(
        part, (now - at) / MICROS_PER_DAY, to_portions(quantity, portion[part]),
        (now - parts.catalogued[rows]) / MICROS_PER_DAY, first_job=job == parts.first_job[rows][part],
    )  # fmt: skip
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
        id=_int_array(columns[0]), version=_int_array(columns[1]),
        kind=_int_array([place[kind] for kind in columns[2]]), bulk=_int_array(columns[3]) == 1,
        catalogued=_int_array(columns[4]), first_job=_int_array([job or 0 for job in columns[5]]),
        level=_int_array([-1 if level is None else level for level in columns[6]]),
        target=np.array([np.nan if share is None else share for share in columns[7]], float),
        promise=_int_array([-1 if column is None else PROMISES.index(column) for column in columns[8]]),
        retired=_int_array(columns[9]) == 1,
    )  # fmt: skip


def _int_array(values: Sequence[Any]) -> IntArray:
    return np.array(values, np.int64)
