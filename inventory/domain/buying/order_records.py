"""Plain records of suppliers, offers, orders, the use of parts, and what to order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from inventory.domain.common.described import About, Sent, chance
from inventory.domain.common.records import PartRecord, StockTotals
from inventory.domain.common.validation import MAX_QUANTITY, PROMISES
from inventory.reckoning.reorder.explanation import LevelExplanation
from inventory.reckoning.reorder.order_quantity import price_at

MAX_LEAD_DAYS = 1000  # a lead time above this is a slip of the finger
ORDER_STATUSES = ("draft", "placed", "received", "cancelled")

# ---- suppliers, offers, orders ---------------------------------------------------------------------------


@dataclass(frozen=True)
class SupplierRecord:
    """Who parts are bought from; ``lead_days`` is what it states."""

    id: Annotated[int, "Its id."]
    name: Annotated[str, "Who it is.", Sent(minimum=1, maximum=120, required=True, example="Northgate Components")]
    lead_days: Annotated[int, "Days a delivery takes, as it states.", Sent(maximum=MAX_LEAD_DAYS, default=5)]
    shipping_minor: Annotated[int, "What shipping one parcel costs, in minor units.", Sent(default=0)]
    email: Annotated[str, "Where orders are sent.", Sent(maximum=200, default="", example="orders@northgate.example")]
    note: Annotated[str, "What to know about it.", Sent(maximum=5000, default="")]
    active: Annotated[bool, "Still bought from.", Sent(add=False)]
    created: Annotated[datetime, "When it was added."]
    version: Annotated[int, "Counts its edits."]


@dataclass(frozen=True)
class OfferRecord:
    """What a supplier sells a part for. ``breaks``: (packs, price of a pack), for so many packs or more."""

    id: Annotated[int, "Its id."]
    part_id: Annotated[int, "The part it is of.", Sent(edit=False, required=True)]
    supplier_id: Annotated[int, "Whose it is.", Sent(edit=False, required=True)]
    supplier: Annotated[str, "What the supplier is called."]
    supplier_number: Annotated[
        str, "The supplier's number.", Sent("The supplier's number, as on its bags.", maximum=120, default="")
    ]
    pack: Annotated[int, "Base units in a pack.", Sent(minimum=1, default=1)]
    minimum: Annotated[int, "Fewest base units in an order.", Sent(minimum=1, default=1)]
    price_minor: Annotated[int, "What a pack costs, in minor units.", Sent(required=True)]
    breaks: tuple[tuple[int, int], ...]
    lead_days: Annotated[
        int | None, "Days a delivery of it takes; null: the supplier's.", Sent(maximum=MAX_LEAD_DAYS)
    ]
    stated_days: Annotated[int, "Its own lead time, else the supplier's."]
    preferred: Annotated[bool, "Taken whatever the others cost.", Sent(default=False)]
    active: Annotated[bool, "Still sold.", Sent(add=False)]
    version: Annotated[int, "Counts its edits."]

    def pack_price(self, packs: int) -> int:
        """Return the price of one pack, in minor units, when so many are ordered."""
        return price_at(packs, self.breaks, self.price_minor)

    def cost_of(self, quantity: int) -> int:
        """Return what *quantity* base units cost, in minor units and whole packs."""
        packs = -(-quantity // self.pack)
        return packs * self.pack_price(packs)


@dataclass(frozen=True)
class NewOrderLine:
    """A part to be put on an order. Without an offer the supplier's own best is taken; without a cost, its price."""

    part_id: int
    quantity: int
    offer_id: int | None = None
    cost_minor: int | None = None
    job_id: int | None = None


@dataclass(frozen=True)
class OrderLineRecord:
    """One part of an order; ``outstanding`` is still to come."""

    id: Annotated[int, "Its id; a receipt names it."]
    order_id: Annotated[int, "The order."]
    part: Annotated[PartRecord, "The part."]
    offer_id: Annotated[int | None, "The offer it is bought by."]
    supplier_number: Annotated[str, "The supplier's number."]
    pack: Annotated[int, "Base units in a pack."]
    quantity: Annotated[int, "How many were asked for."]
    received: Annotated[int, About("How many came.", maximum=None)]
    cost_minor: Annotated[int, About("What the line costs, in minor units.", maximum=None)]
    job_id: Annotated[int | None, "The job it is ordered for."]
    job_number: Annotated[str, "That job's number."]
    dropped: Annotated[bool, "No more of it is expected."]

    @property
    def outstanding(self) -> int:
        """How many are still to come."""
        return 0 if self.dropped else max(0, self.quantity - self.received)

    @property
    def packs(self) -> int | None:
        """How many packs of the offer it is; None when it is sold singly, or comes in no whole packs."""
        whole = self.pack > 1 and self.quantity % self.pack == 0
        return self.quantity // self.pack if whole else None

    @property
    def due_minor(self) -> int:
        """What the line costs: all of it, or after it was dropped the share that came."""
        return (
            self.cost_minor * min(self.received, self.quantity) // self.quantity if self.dropped else self.cost_minor
        )


@dataclass(frozen=True)
class OrderRecord:
    """What was asked of a supplier; ``days_late`` is 0 when it is not late."""

    id: Annotated[int, "Its id."]
    code: Annotated[str, "What its paper says."]
    number: Annotated[
        str,
        "The shop's number for it.",
        Sent("The shop's number for it; left out: the next one.", minimum=1, maximum=30),
    ]
    supplier_id: Annotated[int, "Of whom.", Sent(edit=False, required=True)]
    supplier: Annotated[str, "What the supplier is called."]
    status: Annotated[str, About("How it stands.", choices=ORDER_STATUSES)]
    reference: Annotated[str, "The supplier's reference.", Sent(maximum=80, default="")]
    note: Annotated[str, "What to know about it.", Sent(maximum=5000, default="")]
    shipping_minor: Annotated[
        int,
        About("What shipping costs, in minor units.", maximum=None),
        Sent("What shipping costs; left out: the supplier's.", maximum=MAX_QUANTITY),
    ]
    created: Annotated[datetime, "When it was drafted."]
    placed: Annotated[datetime | None, "When it was sent."]
    expected: Annotated[date | None, "When it is expected.", Sent("When it is expected.", add=False)]
    closed: Annotated[datetime | None, "When nothing more was to come."]
    person: Annotated[str, "Who ordered."]
    days_late: Annotated[int, About("Days past the expected day; 0: it is not late.", maximum=None)]
    lines: Annotated[tuple[OrderLineRecord, ...], "What is on it."]
    version: Annotated[int, "Counts its edits."]

    @property
    def goods_minor(self) -> Annotated[int, About(maximum=None)]:
        """What the lines cost together, in minor units."""
        return sum(line.due_minor for line in self.lines)

    @property
    def total_minor(self) -> Annotated[int, About(maximum=None)]:
        """What it costs, shipping included, in minor units."""
        return self.goods_minor + self.shipping_minor


@dataclass(frozen=True)
class DeliveryRecord:
    """A lot that came in on an order, so many days after it was placed."""

    lot_id: Annotated[int, "The lot."]
    lot_code: Annotated[str, "What its label says."]
    order_line_id: Annotated[int, "The line it came in on."]
    part_id: Annotated[int, "The part."]
    quantity: Annotated[int, "How many came."]
    received: Annotated[datetime, "When."]
    days: Annotated[int, About("Days after the order was placed.", maximum=None)]


# ---- use of parts ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class UseRecord:
    """One use of a part: what a job took and did not put back, or a pull that was for no job."""

    at: Annotated[datetime, "When."]
    quantity: Annotated[int, About("Base units.", maximum=None)]
    job_id: Annotated[int | None, "For this job."]
    job_number: Annotated[str, "The job's number."]
    first_job: Annotated[bool, "The part was catalogued for it."]
    one_off: Annotated[bool, "Not to be expected again."]
    counted: Annotated[int, About("How many of it the reckoning counts.", maximum=None)]


@dataclass(frozen=True)
class StockPoint:
    """How much was on the books right after a moment, and what changed it."""

    at: Annotated[datetime, "When."]
    kind: Annotated[str, "What was done."]
    change: Annotated[int, About("Base units, above zero in, below zero out.", minimum=None, maximum=None)]
    on_books: Annotated[int, About("What was on the books then.", minimum=None, maximum=None)]


@dataclass(frozen=True)
class StockOverTime:
    """The stock of a part over time: what was on the books at *since*, and every change after it."""

    since: Annotated[datetime, "From here on."]
    opening: Annotated[int, About("What was on the books then.", minimum=None, maximum=None)]
    points: Annotated[tuple[StockPoint, ...], "Every change after it."]


# ---- what to order ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class LeadTimeRecord:
    """How long a delivery takes: stated, expected, and the day by which nine of ten are in."""

    supplier_id: Annotated[int | None, "Whose."]
    supplier: Annotated[str, "What the supplier is called."]
    stated_days: Annotated[int, "Days it states."]
    deliveries: Annotated[int, About("Deliveries it was learned from.", maximum=None)]
    mean_days: Annotated[float, "Days to be expected."]
    ninety_days: Annotated[int, About("Days within which nine of ten are in.", maximum=None)]
    assumed: Annotated[bool, "Nobody states it: the shop's own assumption."]


@dataclass(frozen=True)
class LinesPerParcel:
    """How many lines share a parcel, and so its shipping, as counted in so many orders.

    ``source``: supplier (orders to that one), shop (all orders), assumed (too few orders yet), or owner (set).
    """

    lines: Annotated[float, "Lines a parcel."]
    orders: Annotated[int, About("Orders it was counted in.", maximum=None)]
    source: Annotated[str, "supplier (orders to it), shop (all orders), assumed (too few yet), or owner (set)."]


@dataclass(frozen=True)
class PurchaseSuggestion:
    """How many to order, from whom, at what cost. Quantities in base units, money in minor units.

    Without an offer: from the supplier of the last delivery at its price, or (no supplier) from nobody known.
    ``decided_by``: level, minimum, price break, cost, or years of use (never more than the shop's most).
    """

    quantity: Annotated[int, About("Base units.", maximum=None)]
    packs: Annotated[int, About("Packs.", maximum=None)]
    pack: Annotated[int, "Base units in a pack."]
    supplier_id: Annotated[int | None, "From whom; null: nobody is known."]
    supplier: Annotated[str, "What the supplier is called."]
    offer: Annotated[OfferRecord | None, "By this offer."]
    cost_minor: Annotated[int | None, About("What it costs, in minor units; null: not known.", maximum=None)]
    decided_by: Annotated[str, "level, minimum, price break, cost, or years of use."]
    years_of_use: Annotated[float, About("For how many years it lasts; null: no use of it is known.", nullable=True)]
    pack_years: Annotated[float, About("For how many years one pack lasts.", nullable=True)]
    long_lasting: Annotated[bool, "The least that can be had lasts longer than the shop's most years."]
    shared: Annotated[LinesPerParcel, "By what its share of the shipping was worked out."]


@dataclass(frozen=True)
class ReorderAdvice:
    """What to keep of a part and what to do now.

    ``risk``: of running dry before the next delivery. ``broken``: chance that the part's own promise breaks as
    things stand (the same, when the promise is no_stock_out).
    """

    part: Annotated[PartRecord, "The part."]
    stock: Annotated[StockTotals, "How much there is of it."]
    level: Annotated[int, About("How many to keep.", maximum=None)]
    reorder_point: Annotated[int, About("At this position or below it is ordered.", minimum=-1, maximum=None)]
    position: Annotated[int, About("On the shelf, plus on order, less promised.", minimum=None, maximum=None)]
    risk: Annotated[float, chance("The chance of running dry before the next delivery.")]
    broken: Annotated[float, chance("The chance that its promise breaks as things stand.")]
    target: Annotated[float, chance("How often the promise is to be kept.")]
    promise: Annotated[str, About("What is promised.", choices=PROMISES)]
    level_fixed: Annotated[bool, "The owner fixed that level."]
    yearly_use: Annotated[float, "Base units used in a year, as expected."]
    lead: Annotated[LeadTimeRecord, "How long a delivery takes."]
    order: Annotated[PurchaseSuggestion | None, "What to order; null: nothing now."]
    why: Annotated[tuple[str, ...], "Why, in sentences."] = ()

    @property
    def short_for_jobs(self) -> Annotated[int, About(maximum=None)]:
        """Base units open jobs wait for that are not on the shelf."""
        return max(0, self.stock.promised - self.stock.on_shelf)


@dataclass(frozen=True)
class JoiningPart:
    """A part that is not due and had better come along: its own turn is some days off, and holding costs little."""

    advice: Annotated[ReorderAdvice, "The part and how many."]
    days_early: Annotated[int, About("Days before its own turn.", maximum=None)]
    held_minor: Annotated[int, About("What holding it until then costs, in minor units.", minimum=None, maximum=None)]


@dataclass(frozen=True)
class SuggestedOrder:
    """What to order from one supplier now (``supplier_id`` None: nobody is known for these parts)."""

    supplier_id: Annotated[int | None, "From whom; null: nobody is known."]
    supplier: Annotated[str, "What the supplier is called."]
    advices: Annotated[tuple[ReorderAdvice, ...], "What is due."]
    joining: Annotated[tuple[JoiningPart, ...], "What comes along, because a parcel goes anyway."]
    goods_minor: Annotated[int, About("What all with a known price costs, in minor units.", maximum=None)]
    shipping_minor: Annotated[int, About("What shipping costs, in minor units.", maximum=None)]
    unpriced: Annotated[int, "Lines whose price is not known."]
    saved_minor: Annotated[int, About("What coming along saves, in minor units.", minimum=None, maximum=None)]

    @property
    def lines(self) -> tuple[ReorderAdvice, ...]:
        """Everything on it: what is due, then what comes along."""
        return (*self.advices, *(one.advice for one in self.joining))

    @property
    def shipping_each_minor(self) -> int:
        """Each line's share of the shipping, rounded to whole minor units."""
        return round(self.shipping_minor / max(1, len(self.lines)))


@dataclass(frozen=True)
class OfferChoice:
    """One offer beside the others: the level its lead time asks for, what would be ordered, what a year costs."""

    offer: Annotated[OfferRecord, "The offer."]
    level: Annotated[int, About("The level that its lead time asks for.", maximum=None)]
    order: Annotated[PurchaseSuggestion, "What would be ordered."]
    lead: Annotated[LeadTimeRecord, "How long it takes."]
    yearly_cost_minor: Annotated[int, About("What a year costs by it, in minor units.", minimum=None, maximum=None)]
    chosen: Annotated[bool, "It is the one advised."]


@dataclass(frozen=True)
class AdviceExplanation:
    """Everything behind one part's advice. ``portion``: base units that the spreads count by (1 for pieces)."""

    advice: Annotated[ReorderAdvice, "The advice."]
    reckoned: LevelExplanation
    portion: Annotated[int, "Base units that the spreads count by; 1 for pieces."]
    uses: Annotated[tuple[UseRecord, ...], "The uses it was learned from, newest first."]
    choices: Annotated[tuple[OfferChoice, ...], "The offers compared."]
    sentences: Annotated[tuple[str, ...], "The same account in words."]
