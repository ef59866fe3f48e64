"""From the reorder list to orders: one a supplier, with parts that are cheaper to order in the same parcel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from inventory.domain.buying.order_records import (
    JoiningPart,
    NewOrderLine,
    OrderRecord,
    PurchaseSuggestion,
    ReorderAdvice,
    SuggestedOrder,
)
from inventory.domain.buying.orders import draft_order
from inventory.domain.common.errors import Conflict
from inventory.domain.common.validation import get_row
from inventory.domain.reorder.offer_terms import OfferTerms
from inventory.domain.reorder.reorder_assessment import ReorderAssessment, assess_reorder
from inventory.domain.reorder.reorder_list import (
    MAX_LISTED,
    advice_records,
    assess_and_remember,
    most_urgent,
    offers_by_id,
    suggest_purchase,
)
from inventory.reckoning.common.time_units import DAYS_PER_YEAR
from inventory.reckoning.reorder.joint_replenishment import ReplenishmentLine, can_join_level, plan_order
from inventory.reckoning.reorder.order_quantity import round_up_to_packs
from inventory.store.tables import Supplier


def suggested_orders(limit: int = 200) -> list[SuggestedOrder]:
    """Return the reorder list as one order a supplier, the one with the most urgent part first."""
    return _orders_by_supplier(assess_and_remember(), limit)


def draft_suggested_order(
    supplier_id: int, part_ids: Sequence[int] | None = None, *, by: int | None = None
) -> OrderRecord:
    """Draft the order that is suggested to a supplier, of all its parts or of those named."""
    get_row(Supplier, supplier_id, "supplier")
    orders = [
        order for order in _orders_by_supplier(assess_reorder(), MAX_LISTED) if order.supplier_id == supplier_id
    ]
    advices = [advice for order in orders for advice in order.lines if part_ids is None or advice.part.id in part_ids]
    lines = [_new_line(advice.part.id, advice.order) for advice in advices if advice.order]
    if not lines:
        raise Conflict("None of this is due from that supplier: look at the list again.", reason="nothing_due")
    return draft_order(supplier_id, lines, by=by)


def _new_line(part_id: int, purchase: PurchaseSuggestion) -> NewOrderLine:
    return NewOrderLine(
        part_id, purchase.quantity, purchase.offer.id if purchase.offer else None, purchase.cost_minor
    )


def _orders_by_supplier(assessment: ReorderAssessment, limit: int) -> list[SuggestedOrder]:
    by_supplier: dict[int | None, list[int]] = {}
    for place in most_urgent(assessment, assessment.due.tolist(), limit):
        by_supplier.setdefault(assessment.best_terms(place).supplier_id, []).append(place)
    return [_suggested_order(assessment, supplier_id, due) for supplier_id, due in by_supplier.items()]


def _suggested_order(assessment: ReorderAssessment, supplier_id: int | None, due: list[int]) -> SuggestedOrder:
    advices = advice_records(assessment, due)
    shipping = assessment.best_terms(due[0]).shipping_minor
    joining, saved = ([], 0.0) if supplier_id is None else _joining_parts(assessment, supplier_id, due, shipping)
    costs = [advice.order.cost_minor for advice in (*advices, *(other.advice for other in joining)) if advice.order]
    known_costs = [cost for cost in costs if cost is not None]
    return SuggestedOrder(
        supplier_id, advices[0].lead.supplier, tuple(advices), tuple(joining), sum(known_costs), shipping,
        len(costs) - len(known_costs), round(saved),
    )  # fmt: skip


# ---- joining parts ---------------------------------------------------------------------------------------


def _joining_parts(
    assessment: ReorderAssessment, supplier_id: int, due: Sequence[int], shipping: int
) -> tuple[list[JoiningPart], float]:  # fmt: skip
    """Return the parts that join the order of the parts that are *due*, and what that saves (minor units)."""
    places = [
        *(place for place in due if assessment.best_terms(place).price_minor is not None),
        *_near_level(assessment, supplier_id, shipping),
    ]
    plan = plan_order(
        [_parcel_line(assessment, place) for place in places], shipping, assessment.beliefs.shop.costs,
        assessment.best_terms(due[0]).shared.lines,
    )  # fmt: skip
    joining = {places[planned.line]: planned for planned in plan.joining}
    records = []
    for place, advice in zip(joining, advice_records(assessment, list(joining)), strict=True):
        planned = joining[place]
        days = max(1, round(planned.years_early * DAYS_PER_YEAR))
        records.append(JoiningPart(_with_purchase(assessment, place, advice), days, round(planned.held)))
    return records, plan.saved


def _parcel_line(assessment: ReorderAssessment, place: int) -> ReplenishmentLine:
    return ReplenishmentLine(
        int(assessment.level[place]),
        int(assessment.position[place]),
        float(assessment.yearly[place]),
        assessment.best_terms(place).terms,
    )


def _near_level(assessment: ReorderAssessment, supplier_id: int, shipping: int) -> list[int]:
    """Return the places of a supplier's parts that are near enough to their level to join an order."""
    candidates = np.flatnonzero(
        (assessment.position >= assessment.level) & (assessment.level > 0) & (assessment.yearly > 0)
    )
    places = np.array(
        [place for place in candidates.tolist() if _is_sold_by(assessment.best_terms(place), supplier_id)], np.int64
    )
    options = [assessment.best_terms(place) for place in places.tolist()]
    quantities = [round_up_to_packs(terms.minimum, terms.pack) for terms in options]
    cheapest = [
        min((terms.price_minor or 0, *(price for _, price in terms.breaks))) / terms.pack for terms in options
    ]
    highest = can_join_level(
        assessment.level[places] - 1, assessment.yearly[places], quantities,
        assessment.beliefs.shop.holding_share * np.array(cheapest, float), shipping,
    )  # fmt: skip
    near_level: list[int] = places[assessment.position[places] <= highest].tolist()
    return near_level


def _is_sold_by(terms: OfferTerms, supplier_id: int) -> bool:
    return terms.supplier_id == supplier_id and terms.offer_id is not None and terms.price_minor is not None


def _with_purchase(assessment: ReorderAssessment, place: int, advice: ReorderAdvice) -> ReorderAdvice:
    terms = assessment.best_terms(place)
    offers = offers_by_id([terms.offer_id] if terms.offer_id else [])
    return replace(
        advice, order=suggest_purchase(terms, 1, float(assessment.yearly[place]), assessment.beliefs.shop, offers)
    )
