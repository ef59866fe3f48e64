"""What to order, and everything it was worked out from."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.buying.order_schemas import OfferOut
from inventory.api.catalogue.part_schemas import PartOut, PartStockOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, QuerySchema, ResponseSchema
from inventory.domain.common.validation import PART_KINDS, PROMISES


def _distribution(about: str) -> fields.List:
    return fields.List(fields.Number("A chance."), about)


class LeadTimeOut(ResponseSchema):
    """How long a delivery takes."""

    supplier_id = fields.Id("Whose.", nullable=True)
    supplier = fields.Text("What the supplier is called.")
    stated_days = fields.Integer("Days it states.")
    deliveries = fields.Integer("Deliveries it was learned from.", maximum=None)
    mean_days = fields.Number("Days to be expected.")
    ninety_days = fields.Integer("Days within which nine of ten are in.", maximum=None)
    assumed = fields.Boolean("Nobody states it: the shop's own assumption.")


class LinesPerParcelOut(ResponseSchema):
    """How many lines share a parcel, and so its shipping."""

    lines = fields.Number("Lines a parcel.")
    orders = fields.Integer("Orders it was counted in.", maximum=None)
    source = fields.Text("supplier (orders to it), shop (all orders), assumed (too few yet), or owner (set).")


class PurchaseSuggestionOut(ResponseSchema):
    """How many to order, from whom, at what cost."""

    quantity = fields.Integer("Base units.", maximum=None)
    packs = fields.Integer("Packs.", maximum=None)
    pack = fields.Integer("Base units in a pack.")
    supplier_id = fields.Id("From whom; null: nobody is known.", nullable=True)
    supplier = fields.Text("What the supplier is called.")
    offer = fields.Nested(OfferOut, "By this offer.", nullable=True)
    cost_minor = fields.Integer("What it costs, in minor units; null: not known.", maximum=None, nullable=True)
    decided_by = fields.Text("level, minimum, price break, cost, or years of use.")
    years_of_use = fields.Number("For how many years it lasts; null: no use of it is known.", nullable=True)
    pack_years = fields.Number("For how many years one pack lasts.", nullable=True)
    long_lasting = fields.Boolean("The least that can be had lasts longer than the shop's most years.")
    shared = fields.Nested(LinesPerParcelOut, "By what its share of the shipping was worked out.")


class ReorderAdviceOut(ResponseSchema):
    """What to keep of a part, and what to do now."""

    part = fields.Nested(PartOut, "The part.")
    stock = fields.Nested(PartStockOut, "How much there is of it.")
    level = fields.Integer("How many to keep.", maximum=None)
    level_fixed = fields.Boolean("The owner fixed that level.")
    reorder_point = fields.Integer("At this position or below it is ordered.", minimum=-1, maximum=None)
    position = fields.Integer("On the shelf, plus on order, less promised.", minimum=None, maximum=None)
    risk = fields.BoundedNumber("The chance of running dry before the next delivery.")
    broken = fields.BoundedNumber("The chance that its promise breaks as things stand.")
    target = fields.BoundedNumber("How often the promise is to be kept.")
    promise = fields.Text("What is promised.", choices=PROMISES)
    yearly_use = fields.Number("Base units used in a year, as expected.")
    short_for_jobs = fields.Integer("Base units open jobs wait for that are not on the shelf.", maximum=None)
    lead = fields.Nested(LeadTimeOut, "How long a delivery takes.")
    order = fields.Nested(PurchaseSuggestionOut, "What to order; null: nothing now.", nullable=True)
    why = fields.List(ma.String(), "Why, in sentences.")


class ReorderQuery(PageQuery):
    """Which advice to list."""

    supplier_id = fields.QueryId("From this supplier.")
    kind = fields.Text("Parts of this kind.", choices=PART_KINDS)


class JoiningPartOut(ResponseSchema):
    """A part that is not due and had better come along."""

    advice = fields.Nested(ReorderAdviceOut, "The part and how many.")
    days_early = fields.Integer("Days before its own turn.", maximum=None)
    held_minor = fields.Integer("What holding it until then costs, in minor units.", minimum=None, maximum=None)


class SuggestedOrderOut(ResponseSchema):
    """What to order from one supplier now."""

    supplier_id = fields.Id("From whom; null: nobody is known.", nullable=True)
    supplier = fields.Text("What the supplier is called.")
    advices = fields.Nested(ReorderAdviceOut, "What is due.", many=True)
    joining = fields.Nested(JoiningPartOut, "What comes along, because a parcel goes anyway.", many=True)
    goods_minor = fields.Integer("What all with a known price costs, in minor units.", maximum=None)
    shipping_minor = fields.Integer("What shipping costs, in minor units.", maximum=None)
    unpriced = fields.Integer("Lines whose price is not known.")
    saved_minor = fields.Integer("What coming along saves, in minor units.", minimum=None, maximum=None)


class DraftSuggestedIn(BodySchema):
    """Which suggestion to draft."""

    supplier_id = fields.Id("The order suggested to this supplier.", required=True)
    part_ids = fields.List(fields.Id("A part."), "Only these parts of it; null: all.", maximum=1000, nullable=True)


class PartUseOut(ResponseSchema):
    """One use of a part."""

    at = fields.DateTime("When.")
    quantity = fields.Integer("Base units.", maximum=None)
    job_id = fields.Id("For this job.", nullable=True)
    job_number = fields.Text("The job's number.")
    first_job = fields.Boolean("The part was catalogued for it.")
    one_off = fields.Boolean("Not to be expected again.")
    counted = fields.Integer("How many of it the reckoning counts.", maximum=None)


class OfferChoiceOut(ResponseSchema):
    """One offer beside the others."""

    offer = fields.Nested(OfferOut, "The offer.")
    level = fields.Integer("The level that its lead time asks for.", maximum=None)
    order = fields.Nested(PurchaseSuggestionOut, "What would be ordered.")
    lead = fields.Nested(LeadTimeOut, "How long it takes.")
    yearly_cost_minor = fields.Integer("What a year costs by it, in minor units.", minimum=None, maximum=None)
    chosen = fields.Boolean("It is the one advised.")


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


class AdviceExplanationOut(ResponseSchema):
    """Everything behind one part's advice."""

    advice = fields.Nested(ReorderAdviceOut, "The advice.")
    reckoned = fields.Nested(AdviceFiguresOut, "The figures it was worked out from.")
    portion = fields.Integer("Base units that the spreads count by; 1 for pieces.")
    uses = fields.Nested(PartUseOut, "The uses it was learned from, newest first.", many=True)
    choices = fields.Nested(OfferChoiceOut, "The offers compared.", many=True)
    sentences = fields.List(ma.String(), "The same account in words.")


class HistoryDaysQuery(QuerySchema):
    """How far back to look."""

    days = fields.QueryInteger("Days back.", minimum=1, maximum=3650, default=540)


class StockPointOut(ResponseSchema):
    """What changed the stock of a part."""

    at = fields.DateTime("When.")
    kind = fields.Text("What was done.")
    change = fields.Integer("Base units, above zero in, below zero out.", minimum=None, maximum=None)
    on_books = fields.Integer("What was on the books then.", minimum=None, maximum=None)


class StockOverTimeOut(ResponseSchema):
    """The stock of a part over time."""

    since = fields.DateTime("From here on.")
    opening = fields.Integer("What was on the books then.", minimum=None, maximum=None)
    points = fields.Nested(StockPointOut, "Every change after it.", many=True)
