"""How many lines share a parcel's shipping: counted in the shop's own orders, else assumed, and always said."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.domain.buying import lines_per_parcel, suppliers
from inventory.domain.buying import orders as ordering
from inventory.domain.buying.lines_per_parcel import MIN_ORDERS
from inventory.domain.buying.order_records import LinesPerParcel, NewOrderLine, SupplierRecord
from inventory.domain.common import clock, shop
from inventory.domain.common.records import PartRecord
from inventory.domain.reorder import reorder_list
from tests.factories import a_part

pytestmark = pytest.mark.usefixtures("bench")


def seller(name: str) -> SupplierRecord:
    return suppliers.add_supplier(name, lead_days=10, shipping_minor=1200)


def orders(to: SupplierRecord, number: int, parts: list[PartRecord]) -> None:
    for _ in range(number):
        lines = [NewOrderLine(part.id, 5, cost_minor=500) for part in parts]
        ordering.place_order(ordering.draft_order(to.id, lines).id)


def test_it_is_assumed_until_there_are_enough_orders() -> None:
    northgate = seller("Northgate Components")
    orders(northgate, MIN_ORDERS - 1, [a_part()])
    assert lines_per_parcel.count_lines_per_parcel(shop.shop_config()).of(northgate.id) == LinesPerParcel(
        4.0, 0, "assumed"
    )


def test_it_is_counted_by_supplier_and_over_the_shop_for_those_with_few_orders() -> None:
    northgate, farreach, new = seller("Northgate Components"), seller("Farreach Trading"), seller("Quayside Spares")
    parts = [a_part(), a_part(), a_part()]
    orders(northgate, MIN_ORDERS, parts)
    orders(farreach, MIN_ORDERS, parts[:1])
    shared = lines_per_parcel.count_lines_per_parcel(shop.shop_config())
    assert shared.of(northgate.id) == LinesPerParcel(3.0, MIN_ORDERS, "supplier")
    assert shared.of(farreach.id) == LinesPerParcel(1.0, MIN_ORDERS, "supplier")
    assert shared.of(new.id) == shared.of(None) == LinesPerParcel(2.0, 2 * MIN_ORDERS, "shop")


def test_drafts_dropped_lines_and_orders_of_long_ago_do_not_count() -> None:
    northgate, part, other = seller("Northgate Components"), a_part(), a_part()
    with clock.freeze_at(clock.now() - timedelta(days=800)):
        orders(northgate, MIN_ORDERS, [part, other])
    orders(northgate, MIN_ORDERS, [part])
    ordering.draft_order(northgate.id, [NewOrderLine(part.id, 5), NewOrderLine(other.id, 5)])
    dropped = ordering.draft_order(northgate.id, [NewOrderLine(part.id, 5), NewOrderLine(other.id, 5)])
    ordering.drop_line(ordering.place_order(dropped.id).lines[1].id)
    lines = lines_per_parcel.count_lines_per_parcel(shop.shop_config()).of(northgate.id)
    assert lines == LinesPerParcel(1.0, MIN_ORDERS + 1, "supplier")


def test_what_the_owner_sets_stands() -> None:
    northgate = seller("Northgate Components")
    orders(northgate, MIN_ORDERS, [a_part()])
    shop.edit_shop(lines_a_parcel=7)
    assert lines_per_parcel.count_lines_per_parcel(shop.shop_config()).of(northgate.id) == LinesPerParcel(
        7.0, 0, "owner"
    )


def test_orders_of_one_line_make_larger_ones_and_the_reckoning_says_why() -> None:
    part, farreach = a_part(), seller("Farreach Trading")
    suppliers.add_offer(part.id, farreach.id, 300)

    def suggested() -> tuple[int, str]:
        explanation = reorder_list.explain_advice(part.id)
        assert explanation.advice.order is not None
        return explanation.advice.order.quantity, explanation.sentences[-1]

    few, sentences = suggested()
    assert sentences == "A parcel's shipping is shared by 4 lines (assumed until there are more orders)."
    orders(farreach, MIN_ORDERS, [a_part()])
    more, sentences = suggested()
    assert (
        sentences == f"A parcel's shipping is shared by 1 line (counted in {MIN_ORDERS} orders to Farreach Trading)."
    )
    assert more > few
