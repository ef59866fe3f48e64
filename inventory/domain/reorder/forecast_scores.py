"""Scores remembered advice: how much was wanted until the next delivery, once that time has passed.

Wanted is what jobs took, and what they asked for and could not get, less what had been promised to them before. An
advice to order that was followed ends with the parcel that it brought; any other on the day drawn when it was given.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying.orders import UNDONE_LOTS
from inventory.domain.common import clock
from inventory.domain.reorder.usage import WENT
from inventory.reckoning.reorder.service_level import Promise
from inventory.store.connection import run, writing
from inventory.store.fields import to_micros

DAY = 86_400_000_000  # microseconds
LONGEST_WAIT = 400 * DAY  # for a parcel or a next job that never comes
MOST_AT_A_TIME = 5_000


@dataclass(frozen=True)
class _Open:
    """An advice whose time may have passed."""

    id: int
    part_id: int
    given: int
    until: int
    follow_days: int | None
    promise: str
    promised: int
    first_job: int | None


_DUE = """
SELECT f.id, f.part_id, f.given, f.until, f.follow_days, f.promise, f.promised, p.catalogued_for_id
FROM forecasts f JOIN parts p ON p.id = f.part_id
WHERE f.scored IS NULL AND f.until <= ? ORDER BY f.until, f.id LIMIT ?
"""


def score() -> int:
    """Score every advice whose time has passed; return how many were scored.

    One kept on "the next job is served in full" waits for that job; after 400 days without one it is put aside.
    """
    now = to_micros(clock.now())
    due = [_Open(*row) for row in run(_DUE, now, MOST_AT_A_TIME).fetchall()]
    if not due:
        return 0
    with writing():
        scored = [(one.id, *found) for one in due if (found := _scored(one, now)) is not None]
        for number, until, wanted in scored:
            run(
                "UPDATE forecasts SET scored = ?, until = ?, wanted = ? WHERE id = ? AND scored IS NULL",
                now, until, wanted, number,
            )  # fmt: skip
    return len(scored)


def _scored(one: _Open, now: int) -> tuple[int, int | None] | None:
    """Return when an advice's time ended and what was wanted until then (None: nothing to score); None: wait."""
    until = _end(one, now)
    if until is None:
        return None
    wanted = _wanted(one, until)
    if one.promise == Promise.NEXT_JOB:
        own = _next_job(one, until)
        if own is None:
            return (until, None) if now - until > LONGEST_WAIT else None
        wanted += own
    return until, wanted


# ---- when it ends ----------------------------------------------------------------------------------------

_FOLLOWED = """
SELECT n.id, o.status FROM order_lines n JOIN orders o ON o.id = n.order_id
WHERE n.part_id = ? AND o.placed >= ? AND o.placed <= ? AND NOT n.dropped ORDER BY o.placed, n.id LIMIT 1
"""


def _end(one: _Open, now: int) -> int | None:
    """Return the end of its time: of one that was followed its parcel, else the day drawn; None: still waiting."""
    if one.follow_days is None:
        return one.until
    line = run(_FOLLOWED, one.part_id, one.given, one.given + one.follow_days * DAY).fetchone()
    if line is None:
        return one.until
    came = run(
        f"SELECT MIN(received) FROM lots WHERE order_line_id = ? AND id NOT IN ({UNDONE_LOTS})", line[0]
    ).fetchone()[0]
    if came is not None:
        return int(came) if int(came) <= now else None
    return None if line[1] == "placed" and now - one.given < LONGEST_WAIT else one.until


# ---- what was wanted -------------------------------------------------------------------------------------

_TAKEN = f"""
SELECT COALESCE(m.job_id, -m.entry), MIN(m.at),
       SUM(CASE WHEN m.kind <> 'put back' AND NOT m.one_off THEN -m.quantity ELSE 0 END),
       SUM(CASE WHEN m.kind <> 'put back' AND m.one_off THEN -m.quantity ELSE 0 END),
       SUM(CASE WHEN m.kind = 'put back' THEN m.quantity ELSE 0 END)
FROM movements m
WHERE m.part_id = ? AND m.at > ? AND m.at <= ? AND {WENT}
GROUP BY COALESCE(m.job_id, -m.entry) ORDER BY 2
"""
_NEEDS = """
SELECT n.job_id, n.quantity, n.taken, n.dropped, j.status FROM needs n JOIN jobs j ON j.id = n.job_id
WHERE n.part_id = ? AND n.at <= ?
"""


def _taken(one: _Open, after: int, until: int) -> dict[int, int]:
    """Return what each job (below 0: no job) took on balance in a span of time, one-off pulls left out, in order.

    What was put back is taken off one-off pulls first. The job that caused the part to be catalogued is left out.
    """
    rows: Sequence[Any] = run(_TAKEN, one.part_id, after, until).fetchall()
    return {
        int(job): net
        for job, _, regular, one_off, back in rows
        if (net := int(regular) - max(0, int(back) - int(one_off))) > 0 and job != one.first_job
    }


def _wanted(one: _Open, until: int) -> int:
    now = to_micros(clock.now())
    taken, later = _taken(one, one.given, until), _taken(one, until, now)
    asked = sum(_still_asked(row, later) for row in run(_NEEDS, one.part_id, until).fetchall())
    return max(0, sum(taken.values()) + asked - one.promised)


def _still_asked(need: Iterable[Any], later: dict[int, int]) -> int:
    """Return how much of a job's need was unmet when the time ended; what it took later shows that it was."""
    job, quantity, taken, dropped, status = need
    after = later.get(int(job), 0)
    missing = 0 if dropped or status == "closed" else max(0, quantity - taken)
    return int(min(quantity, missing + after))


def _next_job(one: _Open, until: int) -> int | None:
    """Return what the next job after a moment took; None: there is none yet."""
    later = _taken(one, until, to_micros(clock.now()))
    return next(iter(later.values()), None)
