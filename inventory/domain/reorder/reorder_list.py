"""The reorder list: what to order now, how many, from whom, at what cost, and why; and one part's whole reckoning.

The arithmetic is that of ``inventory.reckoning``; ``reorder_picture`` gives it what the shop knows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Any

import numpy as np

from inventory.domain.buying.order_records import (
    AdviceExplanation,
    LeadTimeRecord,
    OfferChoice,
    OfferRecord,
    PurchaseSuggestion,
    ReorderAdvice,
)
from inventory.domain.buying.suppliers import offer_record
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord, from_row
from inventory.domain.common.shop import ShopConfig
from inventory.domain.common.validation import PART_KINDS, get_row, validated_choice
from inventory.domain.reorder import reorder_reasons
from inventory.domain.reorder.forecasts import save_forecasts
from inventory.domain.reorder.offer_terms import OfferTerms, order_costs
from inventory.domain.reorder.reorder_assessment import ReorderAssessment, assess_reorder
from inventory.domain.reorder.usage import use_events, uses_of_part
from inventory.reckoning.reorder.explanation import explain_level
from inventory.reckoning.reorder.order_quantity import choose_order_quantity, round_up_to_packs, years_of_use
from inventory.store.connection import batches
from inventory.store.fields import to_micros
from inventory.store.tables import Offer, Part, Supplier

MAX_LISTED = 1000


def reorder_list(*, supplier_id: int | None = None, kind: str | None = None, limit: int = 200) -> list[ReorderAdvice]:
    """Return what to order now, most urgent first: parts that jobs wait for, then by the risk of a broken promise."""
    whole = assess_and_remember()
    due = whole.due.tolist()
    if kind is not None:
        wanted = PART_KINDS.index(validated_choice(kind, "kind", PART_KINDS))
        due = [place for place in due if whole.believed.kind[place] == wanted]
    if supplier_id is not None:
        due = [place for place in due if whole.way_of(place).supplier_id == supplier_id]
    return advice_records(whole, most_urgent(whole, due, limit))


def assess_and_remember(part_ids: Sequence[int] | None = None) -> ReorderAssessment:
    """Reckon some parts, ascending (None: all that are not retired), and remember today's advice for them."""
    found = assess_reorder(part_ids)
    save_forecasts(found, individually=part_ids is not None)
    return found


def most_urgent(whole: ReorderAssessment, places: Sequence[int], limit: int) -> list[int]:
    """Return the places of parts that are due, the most urgent first, at most so many."""
    return sorted(places, key=lambda place: _urgency_key(whole, place))[: max(1, min(MAX_LISTED, limit))]


def advice_for_parts(part_ids: Iterable[int]) -> dict[int, ReorderAdvice]:
    """Return the advice for some parts, whether there is anything to order or not."""
    wanted = sorted({get_row(Part, part_id, "part").id for part_id in part_ids})
    if not wanted:
        return {}
    some = assess_and_remember(wanted)
    return {record.part.id: record for record in advice_records(some, range(len(wanted)))}


def explain_advice(part_id: int) -> AdviceExplanation:
    """Return everything behind one part's advice: spreads of demand, uses, offers compared, an account in words."""
    get_row(Part, part_id, "part")
    one = assess_and_remember([part_id])
    advice = advice_records(one, [0])[0]
    portion = int(one.portion[0])
    believed = one.believed
    why = explain_level(
        believed.stats, believed.averages, believed.post, one.ways.interval.take(one.best_way), 0, advice.target,
        int(one.position[0]) // portion, bool(believed.next_job[0]),
    )  # fmt: skip
    used = tuple(uses_of_part(part_id))
    return AdviceExplanation(
        advice,
        why,
        portion,
        used,
        _offer_choices(one, advice),
        reorder_reasons.explain_figures(advice, why, portion, used),
    )


# ---- records ---------------------------------------------------------------------------------------------


def _urgency_key(whole: ReorderAssessment, place: int) -> tuple[Any, ...]:
    stock = whole.stock_of(place)
    waited_for = stock.promised > stock.on_shelf
    return not waited_for, -whole.broken[place], -whole.risk[place], int(whole.believed.part_id[place])


def advice_records(whole: ReorderAssessment, places: Sequence[int]) -> list[ReorderAdvice]:
    """Make the records of the advice for the parts at some places of a picture."""
    part_ids = [int(whole.believed.part_id[place]) for place in places]
    parts = {batch.id: from_row(PartRecord, batch) for batch in _rows_in_batches(Part.select(), Part.id, part_ids)}
    offers = offers_by_id([offer for place in places if (offer := whole.way_of(place).offer_id) is not None])
    used = _use_last_year(part_ids)
    leads: dict[Any, LeadTimeRecord] = {}
    made = []
    for place, part_id in zip(places, part_ids, strict=True):
        way = whole.way_of(place)
        if way.lead not in leads:
            leads[way.lead] = whole.ways.leads.record(way.lead)
        made.append(_advice_record(whole, place, parts[part_id], leads[way.lead], offers, used.get(part_id, (0, 0))))
    return made


def _advice_record(
    whole: ReorderAssessment, place: int, part: PartRecord, lead: LeadTimeRecord, offers: dict[int, OfferRecord],
    used: tuple[int, int],
) -> ReorderAdvice:  # fmt: skip
    level, position = int(whole.level[place]), int(whole.position[place])
    yearly, believed = float(whole.yearly[place]), whole.believed
    due = position < level and not part.retired
    order = suggest_purchase(whole.way_of(place), level - position, yearly, believed.shop, offers) if due else None
    bare = ReorderAdvice(
        part, whole.stock_of(place), level, level - 1, position, float(whole.risk[place]), float(whole.broken[place]),
        float(believed.target[place]), "next_job" if believed.next_job[place] else "no_stock_out",
        bool(believed.fixed[place] >= 0), yearly, lead, order,
    )  # fmt: skip
    return reorder_reasons.add_reasons(bare, *used)


def suggest_purchase(
    way: OfferTerms, need: int, yearly: float, shop: ShopConfig, offers: dict[int, OfferRecord]
) -> PurchaseSuggestion:
    """Work out how many to order by one way, so that *need* base units are covered."""
    if way.price_minor is None:
        least = round_up_to_packs(max(need, way.minimum), way.pack)
        years, pack_years = years_of_use(least, yearly), years_of_use(way.pack, yearly)
        settled = (least, least // way.pack, "level", years, pack_years, False)
    else:
        best = choose_order_quantity(need, yearly, way.terms, order_costs([way], shop)[0], shop.costs)
        settled = (best.pieces, best.packs, best.decided_by, best.years_of_use, best.pack_years, best.long_lasting)
    quantity, packs, decided_by, years, pack_years, long_lasting = settled
    return PurchaseSuggestion(
        quantity, packs, way.pack, way.supplier_id, way.supplier, offers.get(way.offer_id or 0), way.cost_of(packs),
        decided_by, years, pack_years, long_lasting, way.shared,
    )  # fmt: skip


def _offer_choices(one: ReorderAssessment, advice: ReorderAdvice) -> tuple[OfferChoice, ...]:
    """Set one part's offers side by side, best first; what each would be ordered in if it were due now."""
    ways = one.ways.each
    offers = offers_by_id([way.offer_id for way in ways if way.offer_id is not None])
    found = []
    for number, way in enumerate(ways):
        if way.offer_id is None:
            continue
        level = advice.level if advice.level_fixed else int(one.way_level[number])
        order = suggest_purchase(way, max(1, level - advice.position), advice.yearly_use, one.believed.shop, offers)
        found.append(
            OfferChoice(
                offers[way.offer_id], level, order, one.ways.leads.record(way.lead), round(one.way_cost[number]),
                number == one.best_way[0],
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda choice: (not choice.chosen, choice.yearly_cost_minor)))


def _use_last_year(part_ids: Sequence[int]) -> dict[int, tuple[int, int]]:
    """Return how often each part was used in the last twelve months, and how many base units in all."""
    found = use_events(part_ids)
    recent = found.at >= to_micros(clock.now() - timedelta(days=365))
    part, quantity = found.part_id[recent], found.quantity[recent]
    ids, place = np.unique(part, return_inverse=True)
    times, total = np.bincount(place, minlength=len(ids)), np.bincount(place, quantity, len(ids))
    return {int(key): (int(times[n]), int(total[n])) for n, key in enumerate(ids)}


def offers_by_id(offer_ids: Sequence[int]) -> dict[int, OfferRecord]:
    """Return the offers with these ids."""
    query = Offer.select(Offer, Supplier).join(Supplier)
    return {batch.id: offer_record(batch) for batch in _rows_in_batches(query, Offer.id, offer_ids)}


def _rows_in_batches(query: Any, key: Any, ids: Sequence[int]) -> Iterable[Any]:
    for batch in batches(ids):
        yield from query.where(key.in_(batch))
