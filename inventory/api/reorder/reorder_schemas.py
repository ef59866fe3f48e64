"""What to order, and everything it was worked out from."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.buying.order_schemas import OfferOut
from inventory.api.catalogue.part_schemas import PartOut, StockOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Query
from inventory.domain.common.validation import KINDS, PROMISES


def _spread(about: str) -> fields.Many:
    return fields.Many(fields.Number("A chance."), about)


class LeadOut(Answer):
    """How long a delivery takes."""

    supplier_id = fields.Ident("Whose.", nullable=True)
    supplier = fields.Text("What the supplier is called.")
    stated_days = fields.Whole("Days it states.")
    deliveries = fields.Whole("Deliveries it was learned from.", most=None)
    mean_days = fields.Number("Days to be expected.")
    ninety_days = fields.Whole("Days within which nine of ten are in.", most=None)
    assumed = fields.Flag("Nobody states it: the shop's own assumption.")


class SharedParcelOut(Answer):
    """How many lines share a parcel, and so its shipping."""

    lines = fields.Number("Lines a parcel.")
    orders = fields.Whole("Orders it was counted in.", most=None)
    source = fields.Text("supplier (orders to it), shop (all orders), assumed (too few yet), or owner (set).")


class ToOrderOut(Answer):
    """How many to order, from whom, at what cost."""

    quantity = fields.Whole("Base units.", most=None)
    packs = fields.Whole("Packs.", most=None)
    pack = fields.Whole("Base units in a pack.")
    supplier_id = fields.Ident("From whom; null: nobody is known.", nullable=True)
    supplier = fields.Text("What the supplier is called.")
    offer = fields.Inner(OfferOut, "By this offer.", nullable=True)
    cost_minor = fields.Whole("What it costs, in minor units; null: not known.", most=None, nullable=True)
    decided_by = fields.Text("level, minimum, price break, cost, or years of use.")
    years_of_use = fields.Number("For how many years it lasts; null: no use of it is known.", nullable=True)
    pack_years = fields.Number("For how many years one pack lasts.", nullable=True)
    long_lasting = fields.Flag("The least that can be had lasts longer than the shop's most years.")
    shared = fields.Inner(SharedParcelOut, "By what its share of the shipping was worked out.")


class AdviceOut(Answer):
    """What to keep of a part, and what to do now."""

    part = fields.Inner(PartOut, "The part.")
    stock = fields.Inner(StockOut, "How much there is of it.")
    level = fields.Whole("How many to keep.", most=None)
    level_fixed = fields.Flag("The owner fixed that level.")
    reorder_point = fields.Whole("At this position or below it is ordered.", least=-1, most=None)
    position = fields.Whole("On the shelf, plus on order, less promised.", least=None, most=None)
    risk = fields.Share("The chance of running dry before the next delivery.")
    broken = fields.Share("The chance that its promise breaks as things stand.")
    target = fields.Share("How often the promise is to be kept.")
    promise = fields.Text("What is promised.", words=PROMISES)
    yearly_use = fields.Number("Base units used in a year, as expected.")
    short_for_jobs = fields.Whole("Base units open jobs wait for that are not on the shelf.", most=None)
    lead = fields.Inner(LeadOut, "How long a delivery takes.")
    order = fields.Inner(ToOrderOut, "What to order; null: nothing now.", nullable=True)
    why = fields.Many(ma.String(), "Why, in sentences.")


class ReorderQuery(PageQuery):
    """Which advice to list."""

    supplier_id = fields.AskedIdent("From this supplier.")
    kind = fields.Text("Parts of this kind.", words=KINDS)


class JoiningOut(Answer):
    """A part that is not due and had better come along."""

    advice = fields.Inner(AdviceOut, "The part and how many.")
    days_early = fields.Whole("Days before its own turn.", most=None)
    held_minor = fields.Whole("What holding it until then costs, in minor units.", least=None, most=None)


class SuggestedOrderOut(Answer):
    """What to order from one supplier now."""

    supplier_id = fields.Ident("From whom; null: nobody is known.", nullable=True)
    supplier = fields.Text("What the supplier is called.")
    advices = fields.Inner(AdviceOut, "What is due.", many=True)
    joining = fields.Inner(JoiningOut, "What comes along, because a parcel goes anyway.", many=True)
    goods_minor = fields.Whole("What all with a known price costs, in minor units.", most=None)
    shipping_minor = fields.Whole("What shipping costs, in minor units.", most=None)
    unpriced = fields.Whole("Lines whose price is not known.")
    saved_minor = fields.Whole("What coming along saves, in minor units.", least=None, most=None)


class DraftSuggestedIn(Body):
    """Which suggestion to draft."""

    supplier_id = fields.Ident("The order suggested to this supplier.", required=True)
    part_ids = fields.Many(fields.Ident("A part."), "Only these parts of it; null: all.", most=1000, nullable=True)


class UseOut(Answer):
    """One use of a part."""

    at = fields.Moment("When.")
    quantity = fields.Whole("Base units.", most=None)
    job_id = fields.Ident("For this job.", nullable=True)
    job_number = fields.Text("The job's number.")
    first_job = fields.Flag("The part was catalogued for it.")
    one_off = fields.Flag("Not to be expected again.")
    counted = fields.Whole("How many of it the reckoning counts.", most=None)


class OfferChoiceOut(Answer):
    """One offer beside the others."""

    offer = fields.Inner(OfferOut, "The offer.")
    level = fields.Whole("The level that its lead time asks for.", most=None)
    order = fields.Inner(ToOrderOut, "What would be ordered.")
    lead = fields.Inner(LeadOut, "How long it takes.")
    yearly_cost_minor = fields.Whole("What a year costs by it, in minor units.", least=None, most=None)
    chosen = fields.Flag("It is the one advised.")


class WhyOut(Answer):
    """The figures behind an advice. The letters are those of the page that explains the numbers."""

    k = fields.Number("Jobs that used it, older ones counting less.")
    s = fields.Number("Pieces beyond the first of each job, older ones counting less.")
    kz = fields.Number("Jobs counted for size, older ones counting less.")
    T = fields.Number("Months of history, older ones counting less.")
    m = fields.Number("Jobs a month of the average part.")
    e = fields.Number("Pieces beyond the first a job of the average part takes.")
    by_kind = fields.Flag("The averages are of its kind.")
    a = fields.Number("Shape of the job rate.")
    B = fields.Number("Months behind the job rate.")
    c = fields.Number("First parameter of the job size.")
    d = fields.Number("Second parameter of the job size.")
    r = fields.Number("Shape of the job size.")
    days = _spread("Days the stock may have to last.")
    day_chances = _spread("How likely each of them is.")
    looks_days = fields.Number("Days between looks, on top of the lead time.")
    months = fields.Number("Months the stock has to last, as expected.")
    jobs = _spread("Chances of 0, 1, 2 ... jobs before the next delivery.")
    pieces = _spread("Chances of 0, 1, 2 ... portions before the next delivery.")
    next_job_pieces = _spread("The same, up to and with the next job.")
    jobs_per_month = fields.Number("Jobs a month, as expected.")
    pieces_per_job = fields.Number("Portions a job, as expected.")
    pieces_per_year = fields.Number("Portions a year, as expected.")
    target = fields.Share("How often the promise is to be kept.")
    next_job = fields.Flag("The promise is next_job.")
    position = fields.Whole("The position in portions.", least=None, most=None)
    level = fields.Whole("The level in portions, by the part's own promise.", most=None)
    reorder_point = fields.Whole("One below that level.", least=-1, most=None)
    level_no_stock_out = fields.Whole("The level by no_stock_out.", most=None)
    level_next_job = fields.Whole("The level by next_job.", most=None)
    risk_of_running_dry = fields.Share("P(portions > position).")
    risk_next_job = fields.Share("The chance that the next job is not served in full.")


class ReckoningOut(Answer):
    """Everything behind one part's advice."""

    advice = fields.Inner(AdviceOut, "The advice.")
    reckoned = fields.Inner(WhyOut, "The figures it was worked out from.")
    portion = fields.Whole("Base units that the spreads count by; 1 for pieces.")
    uses = fields.Inner(UseOut, "The uses it was learned from, newest first.", many=True)
    choices = fields.Inner(OfferChoiceOut, "The offers compared.", many=True)
    sentences = fields.Many(ma.String(), "The same account in words.")


class DaysQuery(Query):
    """How far back to look."""

    days = fields.Asked("Days back.", least=1, most=3650, default=540)


class StockPointOut(Answer):
    """What changed the stock of a part."""

    at = fields.Moment("When.")
    kind = fields.Text("What was done.")
    change = fields.Whole("Base units, above zero in, below zero out.", least=None, most=None)
    on_books = fields.Whole("What was on the books then.", least=None, most=None)


class StockOverTimeOut(Answer):
    """The stock of a part over time."""

    since = fields.Moment("From here on.")
    opening = fields.Whole("What was on the books then.", least=None, most=None)
    points = fields.Inner(StockPointOut, "Every change after it.", many=True)
