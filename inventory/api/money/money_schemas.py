"""Money: what the stock is worth, what jobs cost, what was bought in vain."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.jobs.job_schemas import JobOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Query
from inventory.domain.common.validation import MOST

MANY = MOST * 1000


def _money(about: str, *, nullable: bool = False) -> fields.Whole:
    return fields.Whole(f"{about}, in minor units.", most=None, nullable=nullable)


class OnDayQuery(Query):
    """The day that is meant."""

    on = fields.Day("At the end of this day, where the bench is; left out: now.")


class SpanQuery(PageQuery):
    """The time that is meant."""

    since = fields.Day("Closed on this day or later; left out: a year before the last day.")
    until = fields.Day("Closed on this day or before; left out: today.")


class PartValueOut(Answer):
    """What there was of a part, and what it had cost."""

    part = fields.Inner(PartOut, "The part.")
    quantity = fields.Whole("How much there was, in base units.", most=MANY)
    value_minor = _money("What it had cost, as far as that is known")
    lots = fields.Whole("How many lots of it had something left.")
    lots_without_cost = fields.Whole("Of how many of these nobody noted what they cost.")
    quantity_without_cost = fields.Whole("How much of the quantity is in those.", most=MANY)


class ValueShareOut(Answer):
    """The share of one sort."""

    word = fields.Text("The sort.")
    value_minor = _money("Its share")
    number = fields.Whole("Of how many bins, or parts.")


class StockValueOut(Answer):
    """What the stock was worth at the end of a day: what its lots had cost."""

    day = fields.Day("The day.")
    until = fields.Moment("Up to when the ledger was read.")
    value_minor = _money("What all of it had cost, as far as that is known")
    lots = fields.Whole("How many lots had something left.")
    lots_without_cost = fields.Whole("Of how many of these nobody noted what they cost; they are not in the sum.")
    by_part = fields.Inner(PartValueOut, "By part, the dearest first.", many=True)
    by_bin = fields.Inner(ValueShareOut, "By sort of bin, as the bins are marked today.", many=True)
    by_kind = fields.Inner(ValueShareOut, "By kind of part.", many=True)


class MonthValueOut(Answer):
    """What the stock was worth at the end of a month; the last one is of now."""

    day = fields.Day("The day.")
    value_minor = _money("What all of it had cost, as far as that is known")
    lots = fields.Whole("How many lots had something left.")
    lots_without_cost = fields.Whole("Of how many of these nobody noted what they cost.")


class JobCostOut(Answer):
    """What the parts of a job cost."""

    job = fields.Inner(JobOut, "The job.")
    lots_minor = _money("Of lots, to the last unit: the shares of a lot add up to what it cost")
    shared_minor = _money("Its shares of bottles and reels")
    cost_minor = _money("Both together")
    costs_unknown = fields.Whole("How many lots and shares are left out, as nobody noted what they cost.")


class FateOut(Answer):
    """What became of some units."""

    word = fields.Text("In a word.", example="became a proved spare")
    quantity = fields.Whole("How many, in base units.", most=MANY)
    cost_minor = _money("What they cost", nullable=True)
    told = fields.Text("More of it: which piece, bin or job, or why it was scrapped.")


class InVainOut(Answer):
    """A lot of which its job used less than was bought for it, or that was bought on a guess."""

    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part.")
    job = fields.Inner(JobOut, "The job it was bought for; null: bought on a guess.", nullable=True)
    why = fields.Text("Why it counts, in a sentence.")
    supplier = fields.Text("Who it was bought from.")
    quantity = fields.Whole("How many were not used for their purpose, in base units.", most=MANY)
    cost_minor = _money("What those cost; null: not known", nullable=True)
    idle_minor = _money("What of that is of no use to anybody so far; null: not known", nullable=True)
    fates = fields.Inner(FateOut, "What became of them.", many=True)


class InVainReportOut(Answer):
    """What was bought in vain."""

    items = fields.Inner(InVainOut, "Lot by lot, the dearest first.", many=True)
    cost_minor = _money("What all of it cost, as far as that is known")
    idle_minor = _money("What of that is of no use to anybody so far")
    without_cost = fields.Whole("Of how many lots nobody noted what they cost.")
