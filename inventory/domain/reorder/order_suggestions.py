"""From the reorder list to orders: one a supplier, with what had better come along in the same parcel."""

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
from inventory.reckoning.common.durations import DAYS_PER_YEAR
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


def _new_line(part_id: int, order: PurchaseSuggestion) -> NewOrderLine:
    return NewOrderLine(part_id, order.quantity, order.offer.id if order.offer else None, order.cost_minor)


def _orders_by_supplier(whole: ReorderAssessment, limit: int) -> list[SuggestedOrder]:
    by_supplier: dict[int | None, list[int]] = {}
    for place in most_urgent(whole, whole.due.tolist(), limit):
        by_supplier.setdefault(whole.way_of(place).supplier_id, []).append(place)
    return [_suggested_order(whole, supplier_id, due) for supplier_id, due in by_supplier.items()]


def _suggested_order(whole: ReorderAssessment, supplier_id: int | None, due: list[int]) -> SuggestedOrder:
    found = advice_records(whole, due)
    shipping = whole.way_of(due[0]).shipping_minor
    along, saved = ([], 0.0) if supplier_id is None else _joining_parts(whole, supplier_id, due, shipping)
    costs = [one.order.cost_minor for one in (*found, *(other.advice for other in along)) if one.order]
    known = [cost for cost in costs if cost is not None]
    return SuggestedOrder(
        supplier_id, found[0].lead.supplier, tuple(found), tuple(along), sum(known), shipping,
        len(costs) - len(known), round(saved),
    )  # fmt: skip


# ---- what comes along ------------------------------------------------------------------------------------


def _joining_parts(
    whole: ReorderAssessment, supplier_id: int, due: Sequence[int], shipping: int
) -> tuple[list[JoiningPart], float]:  # fmt: skip
    """Return the parts that join the order of the parts that are *due*, and what that saves (minor units)."""
    places = [
        *(p for p in due if whole.way_of(p).price_minor is not None),
        *_near_level(whole, supplier_id, shipping),
    ]
    plan = plan_order(
        [_parcel_line(whole, place) for place in places], shipping, whole.believed.shop.costs,
        whole.way_of(due[0]).shared.lines,
    )  # fmt: skip
    joining = {places[one.line]: one for one in plan.joining}
    made = []
    for place, advice in zip(joining, advice_records(whole, list(joining)), strict=True):
        planned = joining[place]
        days = max(1, round(planned.years_early * DAYS_PER_YEAR))
        made.append(JoiningPart(_with_purchase(whole, place, advice), days, round(planned.held)))
    return made, plan.saved


def _parcel_line(whole: ReorderAssessment, place: int) -> ReplenishmentLine:
    return ReplenishmentLine(
        int(whole.level[place]), int(whole.position[place]), float(whole.yearly[place]), whole.way_of(place).terms
    )


def _near_level(whole: ReorderAssessment, supplier_id: int, shipping: int) -> list[int]:
    """Return the places of parts of a supplier that are near enough to their level to be worth looking at."""
    kept = np.flatnonzero((whole.position >= whole.level) & (whole.level > 0) & (whole.yearly > 0))
    places = np.array([place for place in kept.tolist() if _is_sold_by(whole.way_of(place), supplier_id)], np.int64)
    ways = [whole.way_of(place) for place in places.tolist()]
    least = [round_up_to_packs(way.minimum, way.pack) for way in ways]
    cheapest = [min((way.price_minor or 0, *(price for _, price in way.breaks))) / way.pack for way in ways]
    edge = can_join_level(
        whole.level[places] - 1, whole.yearly[places], least,
        whole.believed.shop.holding_share * np.array(cheapest, float), shipping,
    )  # fmt: skip
    near: list[int] = places[whole.position[places] <= edge].tolist()
    return near


def _is_sold_by(way: OfferTerms, supplier_id: int) -> bool:
    return way.supplier_id == supplier_id and way.offer_id is not None and way.price_minor is not None


def _with_purchase(whole: ReorderAssessment, place: int, advice: ReorderAdvice) -> ReorderAdvice:
    way = whole.way_of(place)
    offers = offers_by_id([way.offer_id] if way.offer_id else [])
    return replace(advice, order=suggest_purchase(way, 1, float(whole.yearly[place]), whole.believed.shop, offers))
