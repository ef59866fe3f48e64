"""/stock-value, /job-costs, /jobs/.../cost and /bought-in-vain: what things cost."""

from __future__ import annotations

from typing import Any

from flask import current_app

from inventory.api.money.money_schemas import (
    InVainReportOut,
    JobCostOut,
    MonthValueOut,
    OnDayQuery,
    SpanQuery,
    StockValueOut,
)
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.money import job_costs as costs
from inventory.domain.money import stock_value as stock
from inventory.domain.money import wasted_purchases as vain
from inventory.domain.money.money_records import JobCost, MonthValue, StockValue
from inventory.web.access import for_role

resource = Resource("money", "What the stock is worth, what jobs cost, what was bought in vain.")


def _zone() -> str:
    return str(current_app.config["BENCH"].timezone)


@resource.get("/stock-value")
@for_role("owner")
@resource.arguments(OnDayQuery(), location="query")
@resource.response(200, StockValueOut())
def stock_value(asked: dict[str, Any]) -> StockValue:
    """Read what the stock was worth at the end of a day, from the ledger alone."""
    return stock.value_on(asked.get("on"), _zone())


@resource.get("/stock-value/months")
@for_role("owner")
@resource.arguments(PageQuery(), location="query")
@resource.listed(MonthValueOut(), key=lambda one: one.day.isoformat())
def stock_value_months(asked: dict[str, Any]) -> list[MonthValue]:
    """List what the stock was worth at the end of each of the last 24 months, and now."""
    return stock.value_over_months(zone=_zone())


@resource.get("/job-costs")
@for_role("owner")
@resource.arguments(SpanQuery(), location="query")
@resource.listed(JobCostOut(), key=lambda one: one.job.id)
def job_costs(asked: dict[str, Any]) -> list[JobCost]:
    """List what the parts of closed jobs cost, newest job first."""
    return costs.job_costs(asked.get("since"), asked.get("until"), _zone())


@resource.get("/jobs/<key:job_id>/cost")
@resource.response(200, JobCostOut())
def job_cost(job_id: int) -> JobCost:
    """Read what the parts of a job cost: its share of each lot, and of bottles and reels."""
    return costs.cost_of(job_id)


@resource.get("/bought-in-vain")
@for_role("owner")
@resource.response(200, InVainReportOut())
def bought_in_vain() -> vain.InVainReport:
    """Read what was bought for a job that did not use it, or on a guess, and what became of it."""
    return vain.bought_in_vain()
