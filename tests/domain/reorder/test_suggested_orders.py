"""From the reorder list to an order for each supplier, and what comes along in the same parcel."""

from __future__ import annotations

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import SupplierRecord
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import receive
from inventory.domain.reorder import order_suggestions, reorder_list
from tests.factories import a_bin
from tests.reorder_factories import MONTHLY_USES, a_part_with_uses, a_supplier, advice_for

pytestmark = pytest.mark.usefixtures("bench", "made_up_day")


# ---- from the list to an order --------------------------------------------------------------------------


def test_it_suggests_one_order_a_supplier() -> None:
    near, far = a_supplier(), a_supplier("Quayside Spares", shipping_minor=900)
    stock_parts = [a_part_with_uses(MONTHLY_USES), a_part_with_uses(MONTHLY_USES), a_part_with_uses(MONTHLY_USES)]
    for part, seller in zip(stock_parts, (near, near, far), strict=True):
        suppliers.add_offer(part.id, seller.id, 40)
    a_part_with_uses(MONTHLY_USES)  # nobody sells it
    orders = {order.supplier_id: order for order in order_suggestions.suggested_orders()}
    assert {key: len(advice.advices) for key, advice in orders.items()} == {near.id: 2, far.id: 1, None: 1}
    assert orders[near.id].goods_minor == sum(a.order.cost_minor or 0 for a in orders[near.id].advices if a.order)
    assert (orders[far.id].shipping_minor, orders[near.id].unpriced, orders[None].unpriced) == (900, 0, 1)
    assert [advice.part.id for advice in reorder_list.reorder_list(supplier_id=far.id)] == [stock_parts[2].id]


def test_a_suggested_order_drafted_and_placed_leaves_the_list() -> None:
    seller = a_supplier()
    stock_parts = [a_part_with_uses(MONTHLY_USES), a_part_with_uses(MONTHLY_USES)]
    for part in stock_parts:
        suppliers.add_offer(part.id, seller.id, 240, pack=10)
    listed = {advice.part.id: advice for advice in reorder_list.reorder_list()}
    draft = order_suggestions.draft_suggested_order(seller.id, [stock_parts[0].id])
    order = listed[stock_parts[0].id].order
    assert order is not None
    assert [(x.part.id, x.quantity, x.cost_minor) for x in draft.lines] == [
        (stock_parts[0].id, order.quantity, order.cost_minor)
    ]
    orders.place_order(draft.id)
    assert [advice.part.id for advice in reorder_list.reorder_list()] == [stock_parts[1].id]
    orders.place_order(order_suggestions.draft_suggested_order(seller.id).id)
    assert reorder_list.reorder_list() == []
    with pytest.raises(Conflict, match="None of this is due from that supplier"):
        order_suggestions.draft_suggested_order(seller.id)


# ---- what comes along in the same parcel ----------------------------------------------------------------


def above_its_point(seller: SupplierRecord, more: int, price: int = 20) -> PartRecord:
    """A part that stands so many pieces above its reorder point, sold by somebody."""
    part = a_part_with_uses(MONTHLY_USES)
    suppliers.add_offer(part.id, seller.id, price)
    receive.receive(part.id, advice_for(part).reorder_point + more, a_bin(part).id)
    return part


def test_a_part_near_its_reorder_point_comes_along_when_a_parcel_goes_anyway() -> None:
    seller = a_supplier(shipping_minor=900)
    near = above_its_point(seller, 1)
    assert order_suggestions.suggested_orders() == []
    due = a_part_with_uses(MONTHLY_USES)
    suppliers.add_offer(due.id, seller.id, 20)
    (order,) = order_suggestions.suggested_orders()
    assert [advice.part.id for advice in order.advices] == [due.id]
    (joined,) = order.joining
    assert joined.advice.part.id == near.id
    assert joined.advice.order is not None
    assert joined.days_early == round(365.25 / joined.advice.yearly_use)
    assert 0 < joined.held_minor < order.saved_minor
    assert order.goods_minor == sum(line.order.cost_minor or 0 for line in order.lines if line.order)
    assert order.shipping_each_minor == 450


def test_the_draft_of_a_suggested_order_holds_what_comes_along_unless_it_was_left_out() -> None:
    seller = a_supplier(shipping_minor=900)
    near, due = above_its_point(seller, 1), a_part_with_uses(MONTHLY_USES)
    suppliers.add_offer(due.id, seller.id, 20)
    (order,) = order_suggestions.suggested_orders()
    draft = order_suggestions.draft_suggested_order(seller.id)
    assert [(x.part.id, x.quantity, x.cost_minor) for x in draft.lines] == [
        (line.part.id, line.order.quantity, line.order.cost_minor) for line in order.lines if line.order
    ]
    assert [x.part.id for x in order_suggestions.draft_suggested_order(seller.id, [due.id]).lines] == [due.id]
    assert [x.part.id for x in order_suggestions.draft_suggested_order(seller.id, [near.id]).lines] == [near.id]


def test_nothing_comes_along_without_shipping_to_save_or_from_another_supplier() -> None:
    free, other = a_supplier(shipping_minor=0), a_supplier("Quayside Spares")
    above_its_point(free, 1)
    above_its_point(other, 1)
    due = a_part_with_uses(MONTHLY_USES)
    suppliers.add_offer(due.id, free.id, 20)
    (order,) = order_suggestions.suggested_orders()
    assert (order.supplier_id, order.joining, order.saved_minor) == (free.id, (), 0)


def test_a_whole_range_does_not_come_along() -> None:
    seller = a_supplier(shipping_minor=900)
    for _ in range(12):
        above_its_point(seller, 6, price=500)
    due = a_part_with_uses(MONTHLY_USES)
    suppliers.add_offer(due.id, seller.id, 20)
    (order,) = order_suggestions.suggested_orders()
    assert order.joining == ()
