"""The reorder list: what to order now, how many, from whom, at what cost, and why; and one part's whole reckoning.

The arithmetic is that of ``inventory.reckoning``; ``reorder_picture`` gives it what the shop knows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Any

import numpy as np

from inventory.domain.buying.order_records import Advice, LeadRecord, OfferChoice, OfferRecord, PartReckoning, ToOrder
from inventory.domain.buying.suppliers import offer_record
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord, read
from inventory.domain.common.shop import Shop
from inventory.domain.common.validation import KINDS, one_of, row
from inventory.domain.reorder import reorder_reasons
from inventory.domain.reorder.forecasts import remember
from inventory.domain.reorder.offer_terms import Sold, order_costs
from inventory.domain.reorder.reorder_assessment import Picture, picture
from inventory.domain.reorder.usage import uses, uses_of
from inventory.reckoning.reorder.explanation import explain
from inventory.reckoning.reorder.order_quantity import order_quantity, up_to_packs, years_of_use
from inventory.store.fields import to_micros
from inventory.store.tables import Offer, Part, Supplier

MOST_LISTED = 1000


def reorder_list(*, supplier_id: int | None = None, kind: str | None = None, limit: int = 200) -> list[Advice]:
    """Return what to order now, most urgent first: parts that jobs wait for, then by the risk of a broken promise."""
    whole = advised()
    due = whole.due.tolist()
    if kind is not None:
        wanted = KINDS.index(one_of(kind, "kind", KINDS))
        due = [place for place in due if whole.believed.kind[place] == wanted]
    if supplier_id is not None:
        due = [place for place in due if whole.way_of(place).supplier_id == supplier_id]
    return advices(whole, most_urgent(whole, due, limit))


def advised(part_ids: Sequence[int] | None = None) -> Picture:
    """Reckon some parts, ascending (None: all that are not retired), and remember today's advice for them."""
    found = picture(part_ids)
    remember(found, looked_at=part_ids is not None)
    return found


def most_urgent(whole: Picture, places: Sequence[int], limit: int) -> list[int]:
    """Return the places of parts that are due, the most urgent first, at most so many."""
    return sorted(places, key=lambda place: _urgency(whole, place))[: max(1, min(MOST_LISTED, limit))]


def advice_of(part_ids: Iterable[int]) -> dict[int, Advice]:
    """Return the advice for some parts, whether there is anything to order or not."""
    wanted = sorted({row(Part, part_id, "part").id for part_id in part_ids})
    if not wanted:
        return {}
    some = advised(wanted)
    return {one.part.id: one for one in advices(some, range(len(wanted)))}


def reckoning_of(part_id: int) -> PartReckoning:
    """Return everything behind one part's advice: spreads of demand, uses, offers compared, an account in words."""
    row(Part, part_id, "part")
    one = advised([part_id])
    advice = advices(one, [0])[0]
    portion = int(one.portion[0])
    believed = one.believed
    why = explain(
        believed.stats, believed.averages, believed.post, one.ways.interval.take(one.best_way), 0, advice.target,
        int(one.position[0]) // portion, bool(believed.next_job[0]),
    )  # fmt: skip
    used = tuple(uses_of(part_id))
    return PartReckoning(
        advice, why, portion, used, _choices(one, advice), reorder_reasons.account(advice, why, portion, used)
    )


# ---- records ---------------------------------------------------------------------------------------------


def _urgency(whole: Picture, place: int) -> tuple[Any, ...]:
    stock = whole.stock_of(place)
    waited_for = stock.promised > stock.on_shelf
    return not waited_for, -whole.broken[place], -whole.risk[place], int(whole.believed.part_id[place])


def advices(whole: Picture, places: Sequence[int]) -> list[Advice]:
    """Make the records of the advice for the parts at some places of a picture."""
    part_ids = [int(whole.believed.part_id[place]) for place in places]
    parts = {one.id: read(PartRecord, one) for one in _rows(Part.select(), Part.id, part_ids)}
    offers = offers_by_id([offer for place in places if (offer := whole.way_of(place).offer_id) is not None])
    used = _used_lately(part_ids)
    leads: dict[Any, LeadRecord] = {}
    made = []
    for place, part_id in zip(places, part_ids, strict=True):
        way = whole.way_of(place)
        if way.lead not in leads:
            leads[way.lead] = whole.ways.leads.record(way.lead)
        made.append(_advice(whole, place, parts[part_id], leads[way.lead], offers, used.get(part_id, (0, 0))))
    return made


def _advice(
    whole: Picture, place: int, part: PartRecord, lead: LeadRecord, offers: dict[int, OfferRecord],
    used: tuple[int, int],
) -> Advice:  # fmt: skip
    level, position = int(whole.level[place]), int(whole.position[place])
    yearly, believed = float(whole.yearly[place]), whole.believed
    due = position < level and not part.retired
    order = to_order(whole.way_of(place), level - position, yearly, believed.shop, offers) if due else None
    bare = Advice(
        part, whole.stock_of(place), level, level - 1, position, float(whole.risk[place]), float(whole.broken[place]),
        float(believed.target[place]), "next_job" if believed.next_job[place] else "no_stock_out",
        bool(believed.fixed[place] >= 0), yearly, lead, order,
    )  # fmt: skip
    return reorder_reasons.with_reasons(bare, *used)


def to_order(way: Sold, need: int, yearly: float, shop: Shop, offers: dict[int, OfferRecord]) -> ToOrder:
    """Work out how many to order by one way, so that *need* base units are covered."""
    if way.price_minor is None:
        least = up_to_packs(max(need, way.minimum), way.pack)
        years, pack_years = years_of_use(least, yearly), years_of_use(way.pack, yearly)
        settled = (least, least // way.pack, "level", years, pack_years, False)
    else:
        best = order_quantity(need, yearly, way.terms, order_costs([way], shop)[0], shop.costs)
        settled = (best.pieces, best.packs, best.decided_by, best.years_of_use, best.pack_years, best.long_lasting)
    quantity, packs, decided_by, years, pack_years, long_lasting = settled
    return ToOrder(
        quantity, packs, way.pack, way.supplier_id, way.supplier, offers.get(way.offer_id or 0), way.cost_of(packs),
        decided_by, years, pack_years, long_lasting, way.shared,
    )  # fmt: skip


def _choices(one: Picture, advice: Advice) -> tuple[OfferChoice, ...]:
    """Set one part's offers side by side, best first; what each would be ordered in if it were due now."""
    ways = one.ways.each
    offers = offers_by_id([way.offer_id for way in ways if way.offer_id is not None])
    found = []
    for number, way in enumerate(ways):
        if way.offer_id is None:
            continue
        level = advice.level if advice.level_fixed else int(one.way_level[number])
        order = to_order(way, max(1, level - advice.position), advice.yearly_use, one.believed.shop, offers)
        found.append(
            OfferChoice(
                offers[way.offer_id], level, order, one.ways.leads.record(way.lead), round(one.way_cost[number]),
                number == one.best_way[0],
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda choice: (not choice.chosen, choice.yearly_cost_minor)))


def _used_lately(part_ids: Sequence[int]) -> dict[int, tuple[int, int]]:
    """Return how often each part was used in the last twelve months, and how many base units in all."""
    found = uses(part_ids)
    recent = found.at >= to_micros(clock.now() - timedelta(days=365))
    part, quantity = found.part_id[recent], found.quantity[recent]
    ids, place = np.unique(part, return_inverse=True)
    times, total = np.bincount(place, minlength=len(ids)), np.bincount(place, quantity, len(ids))
    return {int(key): (int(times[n]), int(total[n])) for n, key in enumerate(ids)}


def offers_by_id(offer_ids: Sequence[int]) -> dict[int, OfferRecord]:
    """Return the offers with these ids."""
    query = Offer.select(Offer, Supplier).join(Supplier)
    return {one.id: offer_record(one) for one in _rows(query, Offer.id, offer_ids)}


def _rows(query: Any, key: Any, ids: Sequence[int]) -> Iterable[Any]:
    for start in range(0, len(ids), 500):
        yield from query.where(key.in_(ids[start : start + 500]))
