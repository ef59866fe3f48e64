"""What the parts of many jobs cost: by lots, to the last minor unit, and by their shares of bottles and reels."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from inventory.domain.catalogue.lot_costs import cost_ledgers
from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid
from inventory.domain.common.validation import get_row, validated_year
from inventory.domain.money.money_records import JobCost
from inventory.domain.quality.trace import job_records
from inventory.domain.stocktake.level_usage import level_costs_by_job
from inventory.store.connection import execute
from inventory.store.fields import to_micros
from inventory.store.job_use import of_jobs
from inventory.store.tables import Job

DEFAULT_DAYS = 365
_CLOSED = "SELECT id FROM jobs WHERE status = 'closed' AND closed >= ? AND closed < ?"


def job_costs(since: date | None = None, until: date | None = None, zone: str = "UTC") -> list[JobCost]:
    """Return what the jobs cost that were closed from the day *since* to the day *until*, newest first.

    Days are those of the time zone *zone*; left out, they are today and a year before *until*. Raises Invalid when
    they are the wrong way round, or of a year that cannot be right.
    """
    until = clock.now().astimezone(ZoneInfo(zone)).date() if until is None else until
    validated_year(until, "last day")
    since = until - timedelta(days=DEFAULT_DAYS) if since is None else since
    validated_year(since, "first day")
    if until < since:
        sentence = f"{until} is before {since}: swap the two days."
        raise Invalid(sentence, errors={"until": [sentence]})
    begin, end = _start_of_day(since, zone), _start_of_day(until + timedelta(days=1), zone)
    jobs = [int(key) for (key,) in execute(_CLOSED, begin, end).fetchall()]
    return costs_of_jobs(jobs)


def _start_of_day(day: date, zone: str) -> int:
    return to_micros(datetime.combine(day, time(), ZoneInfo(zone)).astimezone(UTC))


def cost_of_job(job_id: int) -> JobCost:
    """Return what the parts of one job cost."""
    return costs_of_jobs([get_row(Job, job_id, "job").id])[0]


def costs_of_jobs(job_ids: Iterable[int]) -> list[JobCost]:
    """Return what some jobs cost, newest first."""
    lots = of_jobs(job_ids)
    ledgers = cost_ledgers({lot for lot_ids in lots.values() for lot in lot_ids})
    shared = level_costs_by_job()
    costs = []
    for job in job_records(lots):
        amounts = [ledgers[lot].money(job.id) for lot in lots[job.id] if lot in ledgers]
        shares = shared.get(job.id, [])
        unknown = len(lots[job.id]) - len(amounts) + shares.count(None)
        costs.append(JobCost(job, sum(amounts), sum(share or 0 for share in shares), unknown))
    return sorted(costs, key=lambda cost: -cost.job.id)
