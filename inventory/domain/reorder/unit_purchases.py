"""What one more of a part costs a job that waits for it, and how long that takes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from inventory.domain.buying.lead_times import LeadTimeTable, lead_time_table
from inventory.domain.common.shop import ShopConfig
from inventory.domain.reorder.offer_terms import OfferTerms, offer_terms, order_costs


@dataclass(frozen=True)
class UnitPurchase:
    """The best terms for one more of a part for a job that waits. Money in minor units."""

    part_id: int
    supplier: str  # empty: nobody is known to sell it
    price_minor: float  # of one base unit
    price_known: bool
    posting_minor: float  # the line, and its share of a parcel
    lead_days: float  # expected
    within_days: int  # nine in ten deliveries come

    @property
    def known(self) -> bool:
        """Tell whether somebody is known to sell it."""
        return bool(self.supplier)


def unit_purchases(part_ids: Iterable[int], shop: ShopConfig) -> dict[int, UnitPurchase]:
    """Return each part's preferred terms, else those that cost least with the waiting they bring."""
    options = offer_terms(sorted(set(part_ids)), shop)
    leads = lead_time_table({terms.lead for terms in options}, shop)
    costs = order_costs(options, shop)
    purchases = [_unit_purchase(terms, leads, cost) for terms, cost in zip(options, costs, strict=True)]
    best: dict[int, UnitPurchase] = {}
    for part_id, group in groupby(zip(options, purchases, strict=True), key=lambda pair: pair[0].part_id):
        best[part_id] = min(group, key=lambda pair: (not pair[0].preferred, _total_cost(pair[1], shop)))[1]
    return best


def _unit_purchase(terms: OfferTerms, leads: LeadTimeTable, cost: float) -> UnitPurchase:
    price = (terms.price_minor or 0.0) / terms.pack
    lead = leads.record(terms.lead)
    return UnitPurchase(
        terms.part_id, terms.supplier, price, terms.price_minor is not None, cost, lead.mean_days, lead.ninety_days
    )


def _total_cost(purchase: UnitPurchase, shop: ShopConfig) -> float:
    return purchase.price_minor + purchase.posting_minor + purchase.lead_days * shop.waiting_day_minor
