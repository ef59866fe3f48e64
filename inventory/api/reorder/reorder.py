"""/reorder: what to order now, and everything it was worked out from."""

from __future__ import annotations

from typing import Any

from inventory.api.buying.order_schemas import OrderOut
from inventory.api.pagination import PageQuery
from inventory.api.reorder.reorder_schemas import (
    AdviceExplanationOut,
    DraftSuggestedIn,
    HistoryDaysQuery,
    PartUseOut,
    ReorderAdviceOut,
    ReorderQuery,
    StockOverTimeOut,
    SuggestedOrderOut,
)
from inventory.api.resource import Resource, location_header
from inventory.domain.buying.order_records import (
    AdviceExplanation,
    ReorderAdvice,
    StockOverTime,
    SuggestedOrder,
    UseRecord,
)
from inventory.domain.reorder import order_suggestions, usage
from inventory.domain.reorder import reorder_list as domain
from inventory.web.access import current_person

resource = Resource("reorder", "What to order now, how many, from whom, and why.")


@resource.get("/reorder")
@resource.arguments(ReorderQuery(), location="query")
@resource.listed(ReorderAdviceOut(), key="part.id")
def reorder_list(params: dict[str, Any]) -> list[ReorderAdvice]:
    """List what to order now, the most urgent first."""
    return domain.reorder_list(**params, limit=domain.MAX_LISTED)


@resource.get("/reorder/orders")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SuggestedOrderOut(), key="supplier_id")
def suggested_orders(params: dict[str, Any]) -> list[SuggestedOrder]:
    """List the same as one order a supplier, with what had better come along."""
    return order_suggestions.suggested_orders()


@resource.post("/reorder/orders")
@resource.arguments(DraftSuggestedIn())
@resource.response(201, OrderOut())
def draft_suggested_order(data: dict[str, Any]) -> Any:
    """Draft the order that is suggested to a supplier."""
    order = order_suggestions.draft_suggested_order(**data, by=current_person().id)
    return order, location_header("order", order.id)


@resource.get("/parts/<key:part_id>/reckoning")
@resource.response(200, AdviceExplanationOut())
def reckoning(part_id: int) -> AdviceExplanation:
    """Read everything behind the advice for a part: spreads, uses, offers compared, the account in words."""
    return domain.explain_advice(part_id)


@resource.get("/parts/<key:part_id>/uses")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PartUseOut(), key=lambda use: f"{use.job_id}.{use.at.isoformat()}")
def part_uses(params: dict[str, Any], part_id: int) -> list[UseRecord]:
    """List the newest uses of a part."""
    return usage.uses_of_part(part_id)


@resource.get("/parts/<key:part_id>/stock-over-time")
@resource.arguments(HistoryDaysQuery(), location="query")
@resource.response(200, StockOverTimeOut())
def stock_over_time(params: dict[str, Any], part_id: int) -> StockOverTime:
    """Read what was on the books of a part over time."""
    return usage.stock_over_time(part_id, **params)
