"""Money: what the stock is worth, what jobs cost, what was bought in vain."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.jobs.job_schemas import JobOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import QuerySchema, ResponseSchema
from inventory.domain.common.validation import MAX_QUANTITY

MAX_UNITS = MAX_QUANTITY * 1000


def _money_field(about: str, *, nullable: bool = False) -> fields.Integer:
    return fields.Integer(f"{about}, in minor units.", maximum=None, nullable=nullable)


class ValueDayQuery(QuerySchema):
    """The day that is meant."""

    on = fields.Date("At the end of this day, where the bench is; left out: now.")


class ClosedJobsQuery(PageQuery):
    """The time that is meant."""

    since = fields.Date("Closed on this day or later; left out: a year before the last day.")
    until = fields.Date("Closed on this day or before; left out: today.")


class PartValueOut(ResponseSchema):
    """What there was of a part, and what it had cost."""

    part = fields.Nested(PartOut, "The part.")
    quantity = fields.Integer("How much there was, in base units.", maximum=MAX_UNITS)
    value_minor = _money_field("What it had cost, as far as that is known")
    lots = fields.Integer("How many lots of it had something left.")
    lots_without_cost = fields.Integer("Of how many of these nobody noted what they cost.")
    quantity_without_cost = fields.Integer("How much of the quantity is in those.", maximum=MAX_UNITS)


class ValueShareOut(ResponseSchema):
    """The share of one sort."""

    word = fields.Text("The sort.")
    value_minor = _money_field("Its share")
    number = fields.Integer("Of how many bins, or parts.")


class StockValueOut(ResponseSchema):
    """What the stock was worth at the end of a day: what its lots had cost."""

    day = fields.Date("The day.")
    until = fields.DateTime("Up to when the ledger was read.")
    value_minor = _money_field("What all of it had cost, as far as that is known")
    lots = fields.Integer("How many lots had something left.")
    lots_without_cost = fields.Integer("Of how many of these nobody noted what they cost; they are not in the sum.")
    by_part = fields.Nested(PartValueOut, "By part, the dearest first.", many=True)
    by_bin = fields.Nested(ValueShareOut, "By sort of bin, as the bins are marked today.", many=True)
    by_kind = fields.Nested(ValueShareOut, "By kind of part.", many=True)


class MonthValueOut(ResponseSchema):
    """What the stock was worth at the end of a month; the last one is of now."""

    day = fields.Date("The day.")
    value_minor = _money_field("What all of it had cost, as far as that is known")
    lots = fields.Integer("How many lots had something left.")
    lots_without_cost = fields.Integer("Of how many of these nobody noted what they cost.")


class JobCostOut(ResponseSchema):
    """What the parts of a job cost."""

    job = fields.Nested(JobOut, "The job.")
    lots_minor = _money_field("Of lots, to the last unit: the shares of a lot add up to what it cost")
    shared_minor = _money_field("Its shares of bottles and reels")
    cost_minor = _money_field("Both together")
    costs_unknown = fields.Integer("How many lots and shares are left out, as nobody noted what they cost.")


class UnitOutcomeOut(ResponseSchema):
    """What became of some units."""

    word = fields.Text("In a word.", example="became a proved spare")
    quantity = fields.Integer("How many, in base units.", maximum=MAX_UNITS)
    cost_minor = _money_field("What they cost", nullable=True)
    told = fields.Text("More of it: which piece, bin or job, or why it was scrapped.")


class WastedPurchaseOut(ResponseSchema):
    """A lot of which its job used less than was bought for it, or that was bought on a guess."""

    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part.")
    job = fields.Nested(JobOut, "The job it was bought for; null: bought on a guess.", nullable=True)
    why = fields.Text("Why it counts, in a sentence.")
    supplier = fields.Text("Who it was bought from.")
    quantity = fields.Integer("How many were not used for their purpose, in base units.", maximum=MAX_UNITS)
    cost_minor = _money_field("What those cost; null: not known", nullable=True)
    idle_minor = _money_field("What of that is of no use to anybody so far; null: not known", nullable=True)
    fates = fields.Nested(UnitOutcomeOut, "What became of them.", many=True)


class WastedPurchaseReportOut(ResponseSchema):
    """What was bought in vain."""

    items = fields.Nested(WastedPurchaseOut, "Lot by lot, the dearest first.", many=True)
    cost_minor = _money_field("What all of it cost, as far as that is known")
    idle_minor = _money_field("What of that is of no use to anybody so far")
    without_cost = fields.Integer("Of how many lots nobody noted what they cost.")
