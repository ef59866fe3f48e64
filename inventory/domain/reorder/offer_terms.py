"""Who sells each part and on what terms, in the form of the arithmetic; and which of several offers is best."""

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
from inventory.reckoning.reorder.order_quantity import PriceBreak, PricedOffer, price_at
from inventory.store.connection import execute, run_for

_MANY_PARTS = 5000  # from here on one pass over all is faster


class OfferTerms(NamedTuple):
    """Terms on which a part can be bought. Without an offer: from its last supplier, or from no known one."""

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
        """Return the key of its lead time."""
        return self.supplier_id, self.stated_days

    @property
    def terms(self) -> PricedOffer:
        """Return the offer with prices of one base unit."""
        steps = [PriceBreak(packs * self.pack, price / self.pack) for packs, price in self.breaks]
        return PricedOffer((PriceBreak(1, (self.price_minor or 0) / self.pack), *steps), self.pack, self.minimum)

    def cost_of(self, packs: int) -> int | None:
        """Return what so many packs cost, in minor units; None when no price is known."""
        if self.price_minor is None:
            return None
        return round(packs * price_at(packs, self.breaks, self.price_minor))


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
    """Return all terms of some parts, at least one each, ascending by part, then by offer."""
    shared = count_lines_per_parcel(shop)
    offered = [_terms_from_offer(row, shared) for row in _rows_for_parts(_OFFERS, part_ids)]
    with_offers = {terms.part_id for terms in offered}
    without_offers = [row for row in part_ids if row not in with_offers]
    delivered = [
        _terms_from_delivery(row, shared)
        for row in (_rows_for_parts(_LAST_DELIVERIES, without_offers) if without_offers else ())
    ]
    last_deliveries = {terms.part_id: terms for terms in delivered}
    other_terms = [last_deliveries.get(row) or _terms_without_supplier(row, shop, shared) for row in without_offers]
    return sorted([*offered, *other_terms], key=lambda terms: terms.part_id)


def _rows_for_parts(sql: str, part_ids: Sequence[int]) -> Iterable[Any]:
    if len(part_ids) > _MANY_PARTS:
        ids = set(part_ids)
        return [row for row in execute(sql.format(only="")).fetchall() if row[0] in ids]
    return run_for(sql.format(only=" AND f.part_id IN ({ids})"), part_ids)


def _terms_from_offer(row: Any, shared: LinesPerParcelTable) -> OfferTerms:
    part, offer, supplier, name, pack, minimum, price, breaks, stated, preferred, shipping = row
    price_breaks = () if breaks == "[]" else tuple((packs, cost) for packs, cost in json.loads(breaks))
    return OfferTerms(
        part, offer, supplier, name, pack, minimum, price, price_breaks, stated, bool(preferred), shipping,
        shared.of(supplier),
    )  # fmt: skip


def _terms_from_delivery(row: Any, shared: LinesPerParcelTable) -> OfferTerms:
    part, supplier, name, cost, quantity, stated, shipping = row
    price = None if cost is None else cost / quantity
    return OfferTerms(part, None, supplier, name, 1, 1, price, (), stated, False, shipping, shared.of(supplier))


def _terms_without_supplier(part_id: int, shop: ShopConfig, shared: LinesPerParcelTable) -> OfferTerms:
    return OfferTerms(part_id, None, None, "", 1, 1, None, (), shop.lead_days, False, 0, shared.of(None))


def price_ladders(options: Sequence[OfferTerms]) -> PriceLadders:
    """Return many terms as arrays; a price not known counts as 0."""
    steps = [
        (number, packs * terms.pack if packs > 1 else 1, price / terms.pack)
        for number, terms in enumerate(options)
        for packs, price in ((1, terms.price_minor or 0), *terms.breaks)
    ]
    offer, start, price = zip(*steps, strict=True) if steps else ((), (), ())
    return PriceLadders(
        np.array([terms.pack for terms in options], np.int64),
        np.array([terms.minimum for terms in options], np.int64),
        np.array(offer, np.int64), np.array(start, np.int64), np.array(price, float),
    )  # fmt: skip


def order_costs(options: Sequence[OfferTerms], shop: ShopConfig) -> list[float]:
    """Return what one more order on each terms costs: a line, and its share of a parcel's shipping (minor units)."""
    return [shop.line_cost_minor + terms.shipping_minor / terms.shared.lines for terms in options]


def best_terms_by_part(
    options: Sequence[OfferTerms], yearly_costs: Sequence[float], mean_days: Sequence[float]
) -> list[int]:
    """Return the place of each part's best terms: preferred by the owner, else cheapest over a year, else fastest."""
    order = range(len(options))
    best = []
    for _, group in groupby(order, key=lambda place: options[place].part_id):
        best.append(min(group, key=lambda p: (not options[p].preferred, yearly_costs[p], mean_days[p], p)))
    return best
