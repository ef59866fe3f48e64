"""Substitutes that were fitted: recorded beside the pull, and counted towards the job's need of the requested part.

The ledger records which part left the bin; a substitution records which part it replaced. The substitute meets the
job's need, and use counts for the requested part (see ``usage``): else a part that runs out would look unwanted.
Returned substitutes come off the oldest substitution first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, invalid_field
from inventory.domain.common.validation import get_row
from inventory.store.connection import execute
from inventory.store.job_use import IS_USE, LINES, STANDS, USE
from inventory.store.tables import Part, Substitution


@dataclass(frozen=True)
class FittedSubstitute:
    """One pull of a substitute that was not undone. Base units; ``kept`` of them were not put back."""

    entry: int
    part_id: int  # asked for
    instead_id: int  # taken
    job_id: int
    at: int  # microseconds
    one_off: bool
    quantity: int
    kept: int


def requested_part(part_id: int | None, instead: Any, job_id: int | None) -> Part | None:
    """Return the part that a pull of *instead* (row) replaces, or None; raise DomainError if it cannot replace it."""
    if part_id is None or part_id == instead.id:
        return None
    requested = get_row(Part, part_id, "part")
    if job_id is None:
        raise Conflict(
            "Only for a job is something used instead of a part: take a job in hand first.", reason="no_job"
        )
    if requested.unit != instead.unit:
        raise invalid_field(
            "instead_of",
            f"{instead.name} is measured in {instead.unit}, {requested.name} in {requested.unit}: "
            "choose another part.",
        )
    return requested


def record_substitution(
    entry: int, requested: Any, instead: Any, job_id: int, quantity: int, *, differed: str = "", by: int | None = None
) -> None:
    """Record that the pull in *entry* took *instead* in place of *requested* (rows of parts)."""
    Substitution.create(
        entry=entry, part=requested.id, instead=instead.id, job=job_id, quantity=quantity, differed=differed[:300],
        at=clock.now(), person=by,
    )  # fmt: skip


# ---- what stands -----------------------------------------------------------------------------------------

_NOT_REVERSED = f"""
SELECT s.entry, s.part_id, s.instead_id, s.job_id, m.at, m.one_off, s.quantity FROM substitutions s
JOIN movements m ON m.id = s.entry
WHERE {STANDS}{{only}} ORDER BY s.entry
"""
_PULLS_AND_RETURNS = f"""
SELECT m.job_id, m.part_id, m.entry, m.quantity FROM (SELECT DISTINCT job_id, instead_id FROM substitutions) s
JOIN movements m ON m.job_id = s.job_id AND m.part_id = s.instead_id
WHERE m.kind IN {USE} AND {STANDS}{{only}}
ORDER BY m.id
"""


def fitted_substitutes(*, job_id: int | None = None, part_id: int | None = None) -> list[FittedSubstitute]:
    """Return the fitted substitutes of a job, or those that replace or are a part, or all; oldest first."""
    only, back, values = "", "", []
    if job_id is not None:
        only, back, values = " AND s.job_id = ?", " AND m.job_id = ?", [job_id]
    rows = execute(_NOT_REVERSED.format(only=only), *values).fetchall()
    if not rows:
        return []
    lines = execute(_PULLS_AND_RETURNS.format(only=back), *values).fetchall()
    remaining = _remaining_by_entry({int(row[0]) for row in rows}, lines)
    substitutes = (_from_row(row, remaining) for row in rows)
    return [fitted for fitted in substitutes if part_id in (None, fitted.part_id, fitted.instead_id)]


def _remaining_by_entry(entries: set[int], lines: Iterable[Any]) -> dict[int, int]:
    """Replay what jobs took and put back; return by entry how much of each substitution remains.

    A return comes off the substitutions open at that moment, the oldest first, never off later ones.
    """
    remaining = dict.fromkeys(entries, 0)
    open_entries: dict[tuple[int, int], list[int]] = defaultdict(list)
    for job, part, entry, quantity in lines:
        mine = open_entries[job, part]
        if quantity < 0 and entry in remaining:
            remaining[entry] -= quantity
            mine.append(entry)
        for open_entry in mine if quantity > 0 else ():
            came = min(remaining[open_entry], quantity)
            remaining[open_entry] -= came
            quantity -= came
    return remaining


def _from_row(row: Any, remaining: dict[int, int]) -> FittedSubstitute:
    entry, requested, instead, job, micros, one_off, quantity = row
    return FittedSubstitute(
        entry, requested, instead, job, int(micros), bool(one_off), int(quantity), remaining[entry]
    )


# ---- what a job wants ------------------------------------------------------------------------------------


def count_towards_need(job_id: int | None, part_id: int, quantity: int) -> None:
    """Count *quantity* (negative: put back) of a part towards what its job wants of it."""
    if job_id is None or not quantity:
        return
    execute(
        "UPDATE needs SET taken = CASE WHEN taken + ? < 0 THEN 0 ELSE taken + ? END WHERE job_id = ? AND part_id = ?",
        quantity, quantity, job_id, part_id,
    )  # fmt: skip


_NET_PULLED = f"SELECT COALESCE(SUM(-m.quantity), 0) FROM {LINES} WHERE m.job_id = ? AND m.part_id = ? AND {IS_USE}"


def quantity_met(job_id: int, part_id: int) -> int:
    """Return how many of a part a job has: with its substitutes, without what replaces another part."""
    own = int(execute(_NET_PULLED, job_id, part_id).fetchone()[0])
    for substitute in fitted_substitutes(job_id=job_id, part_id=part_id):
        own += substitute.kept if substitute.part_id == part_id else -substitute.kept
    return own


def substituted_quantities(job_id: int | None, part_id: int) -> dict[int, int]:
    """Return by requested part how many of *part_id* a job keeps in its place."""
    known = "SELECT 1 FROM substitutions WHERE job_id = ? AND instead_id = ? LIMIT 1"
    if job_id is None or execute(known, job_id, part_id).fetchone() is None:
        return {}
    quantities: dict[int, int] = {}
    for substitute in fitted_substitutes(job_id=job_id):
        if substitute.instead_id == part_id:
            quantities[substitute.part_id] = quantities.get(substitute.part_id, 0) + substitute.kept
    return quantities


def recount_needs(job_id: int | None, part_id: int, quantity: int, before: dict[int, int]) -> None:
    """Count *quantity* of a part towards the job's needs: first of what it replaced *before*, the rest of itself."""
    now = substituted_quantities(job_id, part_id)
    for requested in before | now:
        change = now.get(requested, 0) - before.get(requested, 0)
        count_towards_need(job_id, requested, change)
        quantity -= change
    count_towards_need(job_id, part_id, quantity)
