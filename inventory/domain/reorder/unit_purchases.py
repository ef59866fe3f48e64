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
    """The best way to get one of a part for a job that waits. Money in minor units."""

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


def unit_purchases(part_ids: Iterable[int], own: ShopConfig) -> dict[int, UnitPurchase]:
    """Return for each part the way that is preferred, else the one that costs least with the waiting it brings."""
    ways = offer_terms(sorted(set(part_ids)), own)
    leads = lead_time_table({way.lead for way in ways}, own)
    costs = order_costs(ways, own)
    made = [_unit_purchase(way, leads, cost) for way, cost in zip(ways, costs, strict=True)]
    found: dict[int, UnitPurchase] = {}
    for part_id, some in groupby(zip(ways, made, strict=True), key=lambda pair: pair[0].part_id):
        found[part_id] = min(some, key=lambda pair: (not pair[0].preferred, _total_cost(pair[1], own)))[1]
    return found


def _unit_purchase(way: OfferTerms, leads: LeadTimeTable, cost: float) -> UnitPurchase:
    price = (way.price_minor or 0.0) / way.pack
    lead = leads.record(way.lead)
    return UnitPurchase(
        way.part_id, way.supplier, price, way.price_minor is not None, cost, lead.mean_days, lead.ninety_days
    )


def _total_cost(one: UnitPurchase, own: ShopConfig) -> float:
    return one.price_minor + one.posting_minor + one.lead_days * own.waiting_day_minor
