"""Scores saved advice: the demand until the next delivery, once that time has passed.

Demand is what jobs took plus what they asked for and could not get, less earlier promises. The time of an advice to
order that was followed ends with the parcel that it brought; any other on the day drawn when it was given.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying.orders import UNDONE_LOTS_SQL
from inventory.domain.common import clock
from inventory.domain.reorder.usage import WENT
from inventory.reckoning.reorder.service_level import ServiceMeasure
from inventory.store.connection import execute, transaction
from inventory.store.fields import MICROS_PER_DAY, to_micros

MAX_WAIT = 400 * MICROS_PER_DAY  # for a parcel or a next job that never comes
MAX_PER_RUN = 5_000


@dataclass(frozen=True)
class _OpenForecast:
    """An advice whose time may have passed."""

    id: int
    part_id: int
    issued: int
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


def score_forecasts() -> int:
    """Score every advice whose time has passed; return how many were scored.

    One kept on "the next job is served in full" waits for that job; after 400 days without one it is put aside.
    """
    now = to_micros(clock.now())
    due = [_OpenForecast(*row) for row in execute(_DUE, now, MAX_PER_RUN).fetchall()]
    if not due:
        return 0
    with transaction():
        scored = [(forecast.id, *score) for forecast in due if (score := _score_forecast(forecast, now)) is not None]
        for forecast_id, until, demand in scored:
            execute(
                "UPDATE forecasts SET scored = ?, until = ?, wanted = ? WHERE id = ? AND scored IS NULL",
                now, until, demand, forecast_id,
            )  # fmt: skip
    return len(scored)


def _score_forecast(forecast: _OpenForecast, now: int) -> tuple[int, int | None] | None:
    """Return when an advice's time ended and the demand until then (None: nothing to score); None: not over yet."""
    until = _end_of_period(forecast, now)
    if until is None:
        return None
    demand = _demand_until(forecast, until)
    if forecast.promise == ServiceMeasure.NEXT_JOB:
        next_demand = _next_job_demand(forecast, until)
        if next_demand is None:
            return (until, None) if now - until > MAX_WAIT else None
        demand += next_demand
    return until, demand


# ---- when it ends ----------------------------------------------------------------------------------------

_FOLLOWED = """
SELECT n.id, o.status FROM order_lines n JOIN orders o ON o.id = n.order_id
WHERE n.part_id = ? AND o.placed >= ? AND o.placed <= ? AND NOT n.dropped ORDER BY o.placed, n.id LIMIT 1
"""


def _end_of_period(forecast: _OpenForecast, now: int) -> int | None:
    """Return the end of its time: when its parcel came, if followed, else the day drawn; None: not over yet."""
    if forecast.follow_days is None:
        return forecast.until
    line = execute(
        _FOLLOWED, forecast.part_id, forecast.issued, forecast.issued + forecast.follow_days * MICROS_PER_DAY
    ).fetchone()
    if line is None:
        return forecast.until
    first_received = execute(
        f"SELECT MIN(received) FROM lots WHERE order_line_id = ? AND id NOT IN ({UNDONE_LOTS_SQL})", line[0]
    ).fetchone()[0]
    if first_received is not None:
        return int(first_received) if int(first_received) <= now else None
    return None if line[1] == "placed" and now - forecast.issued < MAX_WAIT else forecast.until


# ---- demand ----------------------------------------------------------------------------------------------

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


def _taken_by_job(forecast: _OpenForecast, after: int, until: int) -> dict[int, int]:
    """Return what each job (below 0: no job) took on balance in a span of time, one-off pulls left out, in order.

    What was put back is taken off one-off pulls first. The job that caused the part to be catalogued is left out.
    """
    rows: Sequence[Any] = execute(_TAKEN, forecast.part_id, after, until).fetchall()
    return {
        int(job): net
        for job, _, regular, one_off, put_back in rows
        if (net := int(regular) - max(0, int(put_back) - int(one_off))) > 0 and job != forecast.first_job
    }


def _demand_until(forecast: _OpenForecast, until: int) -> int:
    now = to_micros(clock.now())
    taken, later = _taken_by_job(forecast, forecast.issued, until), _taken_by_job(forecast, until, now)
    unmet = sum(_unmet_need(row, later) for row in execute(_NEEDS, forecast.part_id, until).fetchall())
    return max(0, sum(taken.values()) + unmet - forecast.promised)


def _unmet_need(need: Iterable[Any], later: dict[int, int]) -> int:
    """Return how much of a job's need was unmet when the time ended; what it took later shows that it was."""
    job, quantity, taken, dropped, status = need
    taken_later = later.get(int(job), 0)
    missing = 0 if dropped or status == "closed" else max(0, quantity - taken)
    return int(min(quantity, missing + taken_later))


def _next_job_demand(forecast: _OpenForecast, until: int) -> int | None:
    """Return what the next job after a moment took; None: there is none yet."""
    later = _taken_by_job(forecast, until, to_micros(clock.now()))
    return next(iter(later.values()), None)
