"""At the owner's page of money: the worth of the stock, what jobs cost lately, what was bought in vain."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from inventory.domain.common import clock
from inventory.domain.money.job_costs import job_costs
from inventory.domain.money.money_records import JobCost, MonthValue, StockValue
from inventory.domain.money.stock_value import value_on, value_over_months
from inventory.domain.money.wasted_purchases import InVainReport, bought_in_vain
from inventory.domain.quality.sent_back import money_back
from inventory.domain.quality.sent_back_records import MoneyBack

JOB_DAYS = 30


@dataclass(frozen=True)
class AtMoney:
    """What the page of money shows."""

    value: StockValue
    today: date
    months: tuple[MonthValue, ...]
    jobs: tuple[JobCost, ...]  # closed in the last JOB_DAYS
    jobs_since: date
    in_vain: InVainReport
    back: MoneyBack


def at_money(day: date | None, zone: str) -> AtMoney:
    """Gather what the owner wants to know of money, the worth of the stock as of a *day* (None: now)."""
    today = clock.now().astimezone(ZoneInfo(zone)).date()
    since = today - timedelta(days=JOB_DAYS)
    return AtMoney(
        value_on(day, zone), today, tuple(value_over_months(zone=zone)), tuple(job_costs(since, today, zone)), since,
        bought_in_vain(), money_back(),
    )  # fmt: skip
