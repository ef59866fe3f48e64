"""What to order, and everything it was worked out from."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema, QuerySchema, ResponseSchema
from inventory.domain.buying.order_records import (
    AdviceExplanation,
    ReorderAdvice,
    StockOverTime,
    SuggestedOrder,
    UseRecord,
)
from inventory.domain.common.validation import PART_KINDS


def _distribution(about: str) -> fields.List:
    return fields.List(fields.Number("A chance."), about)


ReorderAdviceOut = response_schema(ReorderAdvice, "short_for_jobs")


class ReorderQuery(PageQuery):
    """Which advice to list."""

    supplier_id = fields.QueryId("From this supplier.")
    kind = fields.Text("Parts of this kind.", choices=PART_KINDS)


SuggestedOrderOut = response_schema(SuggestedOrder)


class DraftSuggestedIn(BodySchema):
    """Which suggestion to draft."""

    supplier_id = fields.Id("The order suggested to this supplier.", required=True)
    part_ids = fields.List(fields.Id("A part."), "Only these parts of it; null: all.", maximum=1000, nullable=True)


PartUseOut = response_schema(UseRecord, name="PartUseOut")


class AdviceFiguresOut(ResponseSchema):
    """The figures behind an advice. The letters are those of the page that explains the numbers."""

    k = fields.Number("Jobs that used it, older ones counting less.")
    s = fields.Number("Pieces beyond the first of each job, older ones counting less.")
    kz = fields.Number("Jobs counted for size, older ones counting less.")
    T = fields.Number("Months of history, older ones counting less.")
    m = fields.Number("Jobs a month of the average part.")
    e = fields.Number("Pieces beyond the first a job of the average part takes.")
    by_kind = fields.Boolean("The averages are of its kind.")
    a = fields.Number("Shape of the job rate.")
    B = fields.Number("Months behind the job rate.")
    c = fields.Number("First parameter of the job size.")
    d = fields.Number("Second parameter of the job size.")
    r = fields.Number("Shape of the job size.")
    days = _distribution("Days the stock may have to last.")
    day_chances = _distribution("How likely each of them is.")
    looks_days = fields.Number("Days between looks, on top of the lead time.")
    months = fields.Number("Months the stock has to last, as expected.")
    jobs = _distribution("Chances of 0, 1, 2 ... jobs before the next delivery.")
    pieces = _distribution("Chances of 0, 1, 2 ... portions before the next delivery.")
    next_job_pieces = _distribution("The same, up to and with the next job.")
    jobs_per_month = fields.Number("Jobs a month, as expected.")
    pieces_per_job = fields.Number("Portions a job, as expected.")
    pieces_per_year = fields.Number("Portions a year, as expected.")
    target = fields.BoundedNumber("How often the promise is to be kept.")
    next_job = fields.Boolean("The promise is next_job.")
    position = fields.Integer("The position in portions.", minimum=None, maximum=None)
    level = fields.Integer("The level in portions, by the part's own promise.", maximum=None)
    reorder_point = fields.Integer("One below that level.", minimum=-1, maximum=None)
    level_no_stock_out = fields.Integer("The level by no_stock_out.", maximum=None)
    level_next_job = fields.Integer("The level by next_job.", maximum=None)
    risk_of_running_dry = fields.BoundedNumber("P(portions > position).")
    risk_next_job = fields.BoundedNumber("The chance that the next job is not served in full.")


AdviceExplanationOut = response_schema(
    AdviceExplanation, reckoned=fields.Nested(AdviceFiguresOut, "The figures it was worked out from.")
)


class HistoryDaysQuery(QuerySchema):
    """How far back to look."""

    days = fields.QueryInteger("Days back.", minimum=1, maximum=3650, default=540)


StockOverTimeOut = response_schema(StockOverTime)
