"""Money: what the stock is worth, what jobs cost, what was bought in vain."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import response_schema
from inventory.api.schema import QuerySchema, ResponseSchema
from inventory.domain.money.money_records import (
    Fate,
    JobCost,
    MonthValue,
    StockValue,
    WastedPurchase,
)


def _money_field(about: str, *, nullable: bool = False) -> fields.Integer:
    return fields.Integer(f"{about}, in minor units.", maximum=None, nullable=nullable)


class ValueDayQuery(QuerySchema):
    """The day that is meant."""

    on = fields.Date("At the end of this day, where the bench is; left out: now.")


class ClosedJobsQuery(PageQuery):
    """The time that is meant."""

    since = fields.Date("Closed on this day or later; left out: a year before the last day.")
    until = fields.Date("Closed on this day or before; left out: today.")


StockValueOut = response_schema(StockValue)
MonthValueOut = response_schema(MonthValue)
JobCostOut = response_schema(JobCost, "cost_minor")
UnitOutcomeOut = response_schema(Fate, name="UnitOutcomeOut")
WastedPurchaseOut = response_schema(WastedPurchase)


class WastedPurchaseReportOut(ResponseSchema):
    """What was bought in vain."""

    items = fields.Nested(WastedPurchaseOut, "Lot by lot, the dearest first.", many=True)
    cost_minor = _money_field("What all of it cost, as far as that is known")
    idle_minor = _money_field("What of that is of no use to anybody so far")
    without_cost = fields.Integer("Of how many lots nobody noted what they cost.")
