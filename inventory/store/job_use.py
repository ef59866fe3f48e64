"""What a job has of a lot: what was pulled for it less what it put back. All rooms ask here.

An undo counts as what it undoes, the other way round. What was scrapped on a job came off a shelf and is not in its
unit, so neither a scrap nor the undo of one counts.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from inventory.store.connection import run_for
from inventory.store.queries import fetch_rows
from inventory.store.tables import Movement, Piece

USE = ("pull", "put back")
"""The kinds of movement that count as use."""

# fragments of SQL about the lines ``m`` of the ledger; Python writes USE as SQL does
LINES = "movements m LEFT JOIN movements o ON o.id = m.reverses_id"  # each with the line ``o`` that it undoes, if any
KIND = "COALESCE(o.kind, m.kind)"  # of an undo: that of what it undoes
IS_USE = f"{KIND} IN {USE}"
STANDS = "NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses_id = m.id)"  # it was not undone


def undone_lines() -> Any:
    """Return a select of the ids of the lines that were undone: an entry goes by the id of its first line."""
    return Movement.select(Movement.reverses).where(Movement.reverses.is_null(False))


def of_lot(lot_id: int) -> dict[int, int]:
    """Return the jobs that have something of a lot, by id, with how many base units; pieces count as one each."""
    return _net("lot_id", "job_id", [lot_id])[lot_id]


def of_job(job_id: int) -> dict[int, int]:
    """Return the lots that a job has something of, by id, with how many base units; pieces count as one each."""
    return of_jobs([job_id])[job_id]


def of_jobs(job_ids: Iterable[int]) -> dict[int, dict[int, int]]:
    """Return ``of_job`` of many jobs, by job."""
    return _net("job_id", "lot_id", list(job_ids))


# Sums by kind, which the covering indexes answer alone. An undo of a scrap is told from that of a pull only where
# there is an undo, which is seldom.
_BY_KIND = (
    "SELECT {one}, {other}, kind, SUM(quantity) FROM movements WHERE {one} IN ({{ids}}) AND job_id IS NOT NULL"
    " AND kind <> 'scrap' GROUP BY {one}, {other}, kind"
)
_SCRAPS_UNDONE = (
    "SELECT m.{one}, m.{other}, m.quantity FROM movements m JOIN movements o ON o.id = m.reverses_id"
    " WHERE m.{one} IN ({{ids}}) AND m.kind = 'reverse' AND m.job_id IS NOT NULL AND o.kind = 'scrap'"
)


def _net(key_column: str, other_column: str, ids: Collection[int]) -> dict[int, dict[int, int]]:
    net: dict[int, dict[int, int]] = {key: {} for key in ids}
    undone = False
    for key, other, kind, quantity in run_for(_BY_KIND.format(one=key_column, other=other_column), ids):
        net[key][other] = net[key].get(other, 0) - int(quantity)
        undone = undone or kind == "reverse"
    if undone:
        for key, other, quantity in run_for(_SCRAPS_UNDONE.format(one=key_column, other=other_column), ids):
            net[key][other] += quantity
    return {key: {other: n for other, n in mine.items() if n > 0} for key, mine in net.items()}


_LOOSE = f"""
SELECT {{columns}}, has.number FROM movements JOIN (
  SELECT -SUM(m.quantity) AS number, MAX(CASE WHEN m.quantity < 0 THEN m.id END) AS last FROM {LINES}
  WHERE m.job_id = ? AND m.piece_id IS NULL AND {IS_USE}{{only}} GROUP BY m.lot_id HAVING SUM(m.quantity) < 0
) AS has ON has.last = movements.id ORDER BY movements.id DESC
"""


def loose_of_job(job_id: int, part_id: int | None = None) -> list[tuple[Any, int]]:
    """Return what a job can put back of loose stock: per lot the last line that gave it some, and how many.

    Of one part, or (None) of all; the newest first.
    """
    only, values = ("", [job_id]) if part_id is None else (" AND m.part_id = ?", [job_id, part_id])
    return [(line, int(number)) for line, number in fetch_rows((Movement,), _LOOSE.replace("{only}", only), *values)]


_PIECES = f"""
SELECT {{columns}} FROM pieces JOIN movements ON movements.piece_id = pieces.id WHERE movements.id IN (
  SELECT m.id FROM {LINES} WHERE m.job_id = ? AND m.quantity < 0 AND {IS_USE}
  AND m.id = (SELECT MAX(x.id) FROM movements x WHERE x.piece_id = m.piece_id)
) ORDER BY pieces.id
"""


def pieces_of_job(job_id: int) -> list[tuple[Any, Any]]:
    """Return the pieces that are fitted in a job's unit, each with the line of the ledger that put it there."""
    return [(piece, line) for piece, line in fetch_rows((Piece, Movement), _PIECES, job_id)]


def standing_lines(lot_id: int, kind: str) -> list[Any]:
    """Return the lines of a lot of one kind that were not undone, in the order of the ledger."""
    return [line for (line,) in fetch_rows((Movement,), _STANDING, lot_id, kind)]


_STANDING = f"""
SELECT {{columns}} FROM movements WHERE movements.id IN (
  SELECT m.id FROM movements m WHERE m.lot_id = ? AND m.kind = ? AND {STANDS}
) ORDER BY movements.id
"""
