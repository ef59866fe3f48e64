"""Who sells each part, on what terms, as the reckoning takes it; and which of several offers is best."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any, NamedTuple

import numpy as np

from inventory.domain.buying.lead_times import LeadTimeKey
from inventory.domain.buying.lines_per_parcel import LinesPerParcelTable, count_lines_per_parcel
from inventory.domain.buying.order_records import LinesPerParcel
from inventory.domain.buying.orders import UNDONE_LOTS_SQL
from inventory.domain.common.shop import ShopConfig
from inventory.reckoning.reorder.offer_choice import PriceLadders
from inventory.reckoning.reorder.order_quantity import PriceBreak, PricedOffer
from inventory.store.connection import execute, run_for

_MANY_PARTS = 5000  # from here on one pass over all is faster


class OfferTerms(NamedTuple):
    """A way to get a part. Without an offer: from whoever delivered it last, or (no supplier) from nobody known."""

    part_id: int
    offer_id: int | None
    supplier_id: int | None
    supplier: str
    pack: int
    minimum: int
    price_minor: float | None  # of one pack; None: not known
    breaks: Sequence[tuple[int, int]]
    stated_days: int
    preferred: bool
    shipping_minor: int
    shared: LinesPerParcel

    @property
    def lead(self) -> LeadTimeKey:
        """What its lead time is learned under."""
        return self.supplier_id, self.stated_days

    @property
    def terms(self) -> PricedOffer:
        """The offer as the reckoning takes it: prices of one base unit."""
        steps = [PriceBreak(packs * self.pack, price / self.pack) for packs, price in self.breaks]
        return PricedOffer((PriceBreak(1, (self.price_minor or 0) / self.pack), *steps), self.pack, self.minimum)

    def cost_of(self, packs: int) -> int | None:
        """Return what so many packs cost, in minor units; None when no price is known."""
        if self.price_minor is None:
            return None
        price = next((price for least, price in reversed(self.breaks) if least <= packs), self.price_minor)
        return round(packs * price)


_OFFERS = """
SELECT f.part_id, f.id, s.id, s.name, f.pack, f.minimum, f.price_minor, f.breaks, COALESCE(f.lead_days, s.lead_days),
       f.preferred, s.shipping_minor
FROM offers f JOIN suppliers s ON s.id = f.supplier_id
WHERE f.active AND s.active{only} ORDER BY f.part_id, f.id
"""
_LAST_DELIVERIES = f"""
SELECT l.part_id, s.id, s.name, l.cost_minor, l.quantity, s.lead_days, s.shipping_minor
FROM lots l JOIN suppliers s ON s.id = l.supplier_id
WHERE s.active AND l.id IN (
  SELECT MAX(f.id) FROM lots f
  WHERE f.supplier_id IS NOT NULL AND f.id NOT IN ({UNDONE_LOTS_SQL}){{only}} GROUP BY f.part_id)
"""


def offer_terms(part_ids: Sequence[int], shop: ShopConfig) -> list[OfferTerms]:
    """Return every way to get some parts, at least one each, ascending by part, then by offer."""
    shared = count_lines_per_parcel(shop)
    offered = [_terms_from_offer(part, shared) for part in _rows_for_parts(_OFFERS, part_ids)]
    known = {one.part_id for one in offered}
    left = [part for part in part_ids if part not in known]
    delivered = [
        _terms_from_delivery(part, shared) for part in (_rows_for_parts(_LAST_DELIVERIES, left) if left else ())
    ]
    before = {one.part_id: one for one in delivered}
    others = [before.get(part) or _terms_without_supplier(part, shop, shared) for part in left]
    return sorted([*offered, *others], key=lambda one: one.part_id)


def _rows_for_parts(sql: str, part_ids: Sequence[int]) -> Iterable[Any]:
    if len(part_ids) > _MANY_PARTS:
        chosen = set(part_ids)
        return [row for row in execute(sql.format(only="")).fetchall() if row[0] in chosen]
    return run_for(sql.format(only=" AND f.part_id IN ({ids})"), part_ids)


def _terms_from_offer(one: Any, shared: LinesPerParcelTable) -> OfferTerms:
    part, offer, supplier, name, pack, minimum, price, breaks, stated, preferred, shipping = one
    steps = () if breaks == "[]" else tuple((packs, cost) for packs, cost in json.loads(breaks))
    return OfferTerms(
        part, offer, supplier, name, pack, minimum, price, steps, stated, bool(preferred), shipping,
        shared.of(supplier),
    )  # fmt: skip


def _terms_from_delivery(one: Any, shared: LinesPerParcelTable) -> OfferTerms:
    part, supplier, name, cost, quantity, stated, shipping = one
    price = None if cost is None else cost / quantity
    return OfferTerms(part, None, supplier, name, 1, 1, price, (), stated, False, shipping, shared.of(supplier))


def _terms_without_supplier(part_id: int, shop: ShopConfig, shared: LinesPerParcelTable) -> OfferTerms:
    return OfferTerms(part_id, None, None, "", 1, 1, None, (), shop.lead_days, False, 0, shared.of(None))


def price_ladders(ways: Sequence[OfferTerms]) -> PriceLadders:
    """Return the terms of many ways at once; a price not known counts as 0."""
    steps = [
        (number, packs * one.pack if packs > 1 else 1, price / one.pack)
        for number, one in enumerate(ways)
        for packs, price in ((1, one.price_minor or 0), *one.breaks)
    ]
    offer, start, price = zip(*steps, strict=True) if steps else ((), (), ())
    return PriceLadders(
        np.array([way.pack for way in ways], np.int64), np.array([way.minimum for way in ways], np.int64),
        np.array(offer, np.int64), np.array(start, np.int64), np.array(price, float),
    )  # fmt: skip


def order_costs(ways: Sequence[OfferTerms], shop: ShopConfig) -> list[float]:
    """Return what one more order by each way costs: a line, and its share of a parcel's shipping (minor units)."""
    return [shop.line_cost_minor + way.shipping_minor / way.shared.lines for way in ways]


def best_terms_by_part(
    ways: Sequence[OfferTerms], yearly_costs: Sequence[float], mean_days: Sequence[float]
) -> list[int]:
    """Return the place of each part's best way: preferred by the owner, else cheapest over a year, else fastest."""
    order = range(len(ways))
    best = []
    for _, some in groupby(order, key=lambda place: ways[place].part_id):
        best.append(min(some, key=lambda p: (not ways[p].preferred, yearly_costs[p], mean_days[p], p)))
    return best
