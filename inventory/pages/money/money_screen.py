"""At the owner's page of money: the worth of the stock, what jobs cost lately, what was bought in vain."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from inventory.domain.common import clock
from inventory.domain.money.job_costs import job_costs
from inventory.domain.money.money_records import JobCost, MonthValue, StockValue
from inventory.domain.money.stock_value import stock_value_by_month, stock_value_on
from inventory.domain.money.wasted_purchases import WastedPurchaseReport, wasted_purchases
from inventory.domain.quality.sent_back import money_back
from inventory.domain.quality.sent_back_records import MoneyBack

JOB_DAYS = 30


@dataclass(frozen=True)
class MoneyScreen:
    """What the page of money shows."""

    value: StockValue
    today: date
    months: tuple[MonthValue, ...]
    jobs: tuple[JobCost, ...]  # closed in the last JOB_DAYS
    jobs_since: date
    in_vain: WastedPurchaseReport
    back: MoneyBack


def money_screen(day: date | None, zone: str) -> MoneyScreen:
    """Gather what the owner wants to know of money, the worth of the stock as of a *day* (None: now)."""
    today = clock.now().astimezone(ZoneInfo(zone)).date()
    since = today - timedelta(days=JOB_DAYS)
    return MoneyScreen(
        stock_value_on(day, zone),
        today,
        tuple(stock_value_by_month(zone=zone)),
        tuple(job_costs(since, today, zone)),
        since,
        wasted_purchases(),
        money_back(),
    )
