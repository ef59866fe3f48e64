"""/stock-value, /job-costs, /jobs/.../cost and /bought-in-vain: what things cost."""

from __future__ import annotations

from typing import Any

from inventory.api.money.money_schemas import (
    ClosedJobsQuery,
    JobCostOut,
    MonthValueOut,
    StockValueOut,
    ValueDayQuery,
    WastedPurchaseReportOut,
)
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.money import job_costs as costs
from inventory.domain.money import stock_value as domain
from inventory.domain.money import wasted_purchases as vain
from inventory.domain.money.money_records import JobCost, MonthValue, StockValue
from inventory.web.access import current_settings, require_role

resource = Resource("money", "What the stock is worth, what jobs cost, what was bought in vain.")


@resource.get("/stock-value")
@require_role("owner")
@resource.arguments(ValueDayQuery(), location="query")
@resource.response(200, StockValueOut())
def stock_value(params: dict[str, Any]) -> StockValue:
    """Read what the stock was worth at the end of a day, from the ledger alone."""
    return domain.stock_value_on(params.get("on"), current_settings().timezone)


@resource.get("/stock-value/months")
@require_role("owner")
@resource.arguments(PageQuery(), location="query")
@resource.listed(MonthValueOut(), key=lambda month: month.day.isoformat())
def stock_value_months(params: dict[str, Any]) -> list[MonthValue]:
    """List what the stock was worth at the end of each of the last 24 months, and now."""
    return domain.stock_value_by_month(zone=current_settings().timezone)


@resource.get("/job-costs")
@require_role("owner")
@resource.arguments(ClosedJobsQuery(), location="query")
@resource.listed(JobCostOut(), key="job.id")
def job_costs(params: dict[str, Any]) -> list[JobCost]:
    """List what the parts of closed jobs cost, newest job first."""
    return costs.job_costs(params.get("since"), params.get("until"), current_settings().timezone)


@resource.get("/jobs/<key:job_id>/cost")
@resource.response(200, JobCostOut())
def job_cost(job_id: int) -> JobCost:
    """Read what the parts of a job cost: its share of each lot, and of bottles and reels."""
    return costs.cost_of_job(job_id)


@resource.get("/bought-in-vain")
@require_role("owner")
@resource.response(200, WastedPurchaseReportOut())
def wasted_purchases() -> vain.WastedPurchaseReport:
    """Read what was bought for a job that did not use it, or on a guess, and what became of it."""
    return vain.wasted_purchases()
