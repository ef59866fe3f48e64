"""/reorder: what to order now, and everything it was worked out from."""

from __future__ import annotations

from typing import Any

from inventory.api.buying.order_schemas import OrderOut
from inventory.api.pagination import PageQuery
from inventory.api.reorder.reorder_schemas import (
    AdviceOut,
    DaysQuery,
    DraftSuggestedIn,
    ReckoningOut,
    ReorderQuery,
    StockOverTimeOut,
    SuggestedOrderOut,
    UseOut,
)
from inventory.api.resource import Resource, at
from inventory.domain.buying.order_records import Advice, PartReckoning, StockOverTime, SuggestedOrder, UseRecord
from inventory.domain.reorder import order_suggestions, usage
from inventory.domain.reorder import reorder_list as stock
from inventory.web.access import caller

resource = Resource("reorder", "What to order now, how many, from whom, and why.")


@resource.get("/reorder")
@resource.arguments(ReorderQuery(), location="query")
@resource.listed(AdviceOut(), key=lambda one: one.part.id)
def reorder_list(asked: dict[str, Any]) -> list[Advice]:
    """List what to order now, the most urgent first."""
    return stock.reorder_list(**asked, limit=stock.MOST_LISTED)


@resource.get("/reorder/orders")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SuggestedOrderOut(), key=lambda one: one.supplier_id)
def suggested_orders(asked: dict[str, Any]) -> list[SuggestedOrder]:
    """List the same as one order a supplier, with what had better come along."""
    return order_suggestions.suggested_orders()


@resource.post("/reorder/orders")
@resource.arguments(DraftSuggestedIn())
@resource.response(201, OrderOut())
def draft_suggested(given: dict[str, Any]) -> Any:
    """Draft the order that is suggested to a supplier."""
    made = order_suggestions.draft_suggested(**given, by=caller().id)
    return made, at("order", made.id)


@resource.get("/parts/<key:part_id>/reckoning")
@resource.response(200, ReckoningOut())
def reckoning(part_id: int) -> PartReckoning:
    """Read everything behind the advice for a part: spreads, uses, offers compared, the account in words."""
    return stock.reckoning_of(part_id)


@resource.get("/parts/<key:part_id>/uses")
@resource.arguments(PageQuery(), location="query")
@resource.listed(UseOut(), key=lambda one: f"{one.job_id}.{one.at.isoformat()}")
def uses(asked: dict[str, Any], part_id: int) -> list[UseRecord]:
    """List the newest uses of a part."""
    return usage.uses_of(part_id)


@resource.get("/parts/<key:part_id>/stock-over-time")
@resource.arguments(DaysQuery(), location="query")
@resource.response(200, StockOverTimeOut())
def stock_over_time(asked: dict[str, Any], part_id: int) -> StockOverTime:
    """Read what was on the books of a part over time."""
    return usage.stock_over_time(part_id, **asked)
