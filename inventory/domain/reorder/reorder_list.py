"""The reorder list: what to order now, how many, from whom, at what cost, and why; and one part's full explanation.

The arithmetic is that of ``inventory.reckoning``; ``reorder_assessment`` gives it the shop's data.
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
    assessment = assess_and_remember()
    due = assessment.due.tolist()
    if kind is not None:
        kind_index = PART_KINDS.index(validated_choice(kind, "kind", PART_KINDS))
        due = [place for place in due if assessment.beliefs.kind[place] == kind_index]
    if supplier_id is not None:
        due = [place for place in due if assessment.best_terms(place).supplier_id == supplier_id]
    return advice_records(assessment, most_urgent(assessment, due, limit))


def assess_and_remember(part_ids: Sequence[int] | None = None) -> ReorderAssessment:
    """Assess some parts, ascending (None: all that are not retired), and save today's advice for them."""
    assessment = assess_reorder(part_ids)
    save_forecasts(assessment, individually=part_ids is not None)
    return assessment


def most_urgent(assessment: ReorderAssessment, places: Sequence[int], limit: int) -> list[int]:
    """Return at most *limit* of some parts' places, the most urgent first."""
    return sorted(places, key=lambda place: _urgency_key(assessment, place))[: max(1, min(MAX_LISTED, limit))]


def advice_for_parts(part_ids: Iterable[int]) -> dict[int, ReorderAdvice]:
    """Return the advice for some parts, whether there is anything to order or not."""
    ids = sorted({get_row(Part, part_id, "part").id for part_id in part_ids})
    if not ids:
        return {}
    assessment = assess_and_remember(ids)
    return {record.part.id: record for record in advice_records(assessment, range(len(ids)))}


def explain_advice(part_id: int) -> AdviceExplanation:
    """Return everything behind one part's advice: distributions of demand, uses, offers compared, and sentences."""
    get_row(Part, part_id, "part")
    assessment = assess_and_remember([part_id])
    advice = advice_records(assessment, [0])[0]
    portion = int(assessment.portion[0])
    beliefs = assessment.beliefs
    explanation = explain_level(
        beliefs.stats, beliefs.averages, beliefs.post, assessment.supply.interval.take(assessment.best_option), 0,
        advice.target,
        int(assessment.position[0]) // portion, bool(beliefs.next_job[0]),
    )  # fmt: skip
    uses = tuple(uses_of_part(part_id))
    return AdviceExplanation(
        advice, explanation, portion, uses, _offer_choices(assessment, advice),
        reorder_reasons.explain_figures(advice, explanation, portion, uses),
    )  # fmt: skip


# ---- records ---------------------------------------------------------------------------------------------


def _urgency_key(assessment: ReorderAssessment, place: int) -> tuple[Any, ...]:
    stock = assessment.stock_of(place)
    waited_for = stock.promised > stock.on_shelf
    return not waited_for, -assessment.broken[place], -assessment.risk[place], int(assessment.beliefs.part_id[place])


def advice_records(assessment: ReorderAssessment, places: Sequence[int]) -> list[ReorderAdvice]:
    """Return the records of the advice for the parts at some places of an assessment."""
    part_ids = [int(assessment.beliefs.part_id[place]) for place in places]
    parts = {row.id: from_row(PartRecord, row) for row in _rows_in_batches(Part.select(), Part.id, part_ids)}
    offers = offers_by_id([offer for place in places if (offer := assessment.best_terms(place).offer_id) is not None])
    used = _use_last_year(part_ids)
    leads: dict[Any, LeadTimeRecord] = {}
    records = []
    for place, part_id in zip(places, part_ids, strict=True):
        terms = assessment.best_terms(place)
        if terms.lead not in leads:
            leads[terms.lead] = assessment.supply.leads.record(terms.lead)
        records.append(
            _advice_record(assessment, place, parts[part_id], leads[terms.lead], offers, used.get(part_id, (0, 0)))
        )
    return records


def _advice_record(
    assessment: ReorderAssessment, place: int, part: PartRecord, lead: LeadTimeRecord, offers: dict[int, OfferRecord],
    used: tuple[int, int],
) -> ReorderAdvice:  # fmt: skip
    level, position = int(assessment.level[place]), int(assessment.position[place])
    yearly, beliefs = float(assessment.yearly[place]), assessment.beliefs
    due = position < level and not part.retired
    order = (
        suggest_purchase(assessment.best_terms(place), level - position, yearly, beliefs.shop, offers)
        if due
        else None
    )
    advice = ReorderAdvice(
        part, assessment.stock_of(place), level, level - 1, position, float(assessment.risk[place]),
        float(assessment.broken[place]),
        float(beliefs.target[place]), "next_job" if beliefs.next_job[place] else "no_stock_out",
        bool(beliefs.fixed[place] >= 0), yearly, lead, order,
    )  # fmt: skip
    return reorder_reasons.add_reasons(advice, *used)


def suggest_purchase(
    terms: OfferTerms, need: int, yearly: float, shop: ShopConfig, offers: dict[int, OfferRecord]
) -> PurchaseSuggestion:
    """Return how many to order on given terms, so that *need* base units are covered."""
    if terms.price_minor is None:
        least = round_up_to_packs(max(need, terms.minimum), terms.pack)
        years, pack_years = years_of_use(least, yearly), years_of_use(terms.pack, yearly)
        choice = (least, least // terms.pack, "level", years, pack_years, False)
    else:
        best = choose_order_quantity(need, yearly, terms.terms, order_costs([terms], shop)[0], shop.costs)
        choice = (best.pieces, best.packs, best.decided_by, best.years_of_use, best.pack_years, best.long_lasting)
    quantity, packs, decided_by, years, pack_years, long_lasting = choice
    return PurchaseSuggestion(
        quantity, packs, terms.pack, terms.supplier_id, terms.supplier, offers.get(terms.offer_id or 0),
        terms.cost_of(packs),
        decided_by, years, pack_years, long_lasting, terms.shared,
    )  # fmt: skip


def _offer_choices(assessment: ReorderAssessment, advice: ReorderAdvice) -> tuple[OfferChoice, ...]:
    """Compare one part's offers, best first; with the quantity that each would be ordered in if it were due now."""
    options = assessment.supply.options
    offers = offers_by_id([terms.offer_id for terms in options if terms.offer_id is not None])
    choices = []
    for number, terms in enumerate(options):
        if terms.offer_id is None:
            continue
        level = advice.level if advice.level_fixed else int(assessment.option_level[number])
        order = suggest_purchase(
            terms, max(1, level - advice.position), advice.yearly_use, assessment.beliefs.shop, offers
        )
        choices.append(
            OfferChoice(
                offers[terms.offer_id], level, order, assessment.supply.leads.record(terms.lead),
                round(assessment.option_cost[number]),
                number == assessment.best_option[0],
            )
        )  # fmt: skip
    return tuple(sorted(choices, key=lambda choice: (not choice.chosen, choice.yearly_cost_minor)))


def _use_last_year(part_ids: Sequence[int]) -> dict[int, tuple[int, int]]:
    """Return how often each part was used in the last twelve months, and how many base units in all."""
    events = use_events(part_ids)
    recent = events.at >= to_micros(clock.now() - timedelta(days=365))
    part, quantity = events.part_id[recent], events.quantity[recent]
    ids, place = np.unique(part, return_inverse=True)
    times, total = np.bincount(place, minlength=len(ids)), np.bincount(place, quantity, len(ids))
    return {int(part_id): (int(times[index]), int(total[index])) for index, part_id in enumerate(ids)}


def offers_by_id(offer_ids: Sequence[int]) -> dict[int, OfferRecord]:
    """Return the offers with these ids."""
    query = Offer.select(Offer, Supplier).join(Supplier)
    return {row.id: offer_record(row) for row in _rows_in_batches(query, Offer.id, offer_ids)}


def _rows_in_batches(query: Any, key: Any, ids: Sequence[int]) -> Iterable[Any]:
    for batch in batches(ids):
        yield from query.where(key.in_(batch))
