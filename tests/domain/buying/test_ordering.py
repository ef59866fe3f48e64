"""Orders: drafted, placed, received in several parcels, late, cancelled."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine, OrderRecord, SupplierRecord
from inventory.domain.catalogue import stock_totals
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale
from inventory.domain.common.records import PartRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import receive, undo
from tests.factories import a_bin, a_job, a_part, a_person

pytestmark = pytest.mark.usefixtures("bench")

MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)


def a_supplier(**more: object) -> SupplierRecord:
    return suppliers.add_supplier("Northgate Components", **{"lead_days": 4, "shipping_minor": 590, **more})


def a_draft(quantity: int = 10, pack: int = 5) -> tuple[OrderRecord, PartRecord]:
    part, seller = a_part(), a_supplier()
    suppliers.add_offer(part.id, seller.id, 240, pack=pack, supplier_number="NG-2041")
    return orders.draft_order(seller.id, [NewOrderLine(part.id, quantity)]), part


def placed(quantity: int = 10) -> tuple[OrderRecord, PartRecord]:
    order, part = a_draft(quantity)
    with clock.freeze_at(MONDAY):
        return orders.place_order(order.id), part


def come(order: OrderRecord, quantity: int, after_days: int = 3, line: int = 0) -> int:
    part = order.lines[line].part
    with clock.freeze_at(MONDAY + timedelta(days=after_days)):
        receipt = receive.receive(part.id, quantity, a_bin(part).id, order_line_id=order.lines[line].id)
    return receipt.entry


def test_it_drafts_an_order_with_the_offers_price_and_the_suppliers_shipping() -> None:
    order, part = a_draft()
    line = order.lines[0]
    assert (order.status, order.supplier, order.shipping_minor) == ("draft", "Northgate Components", 590)
    assert (line.part.id, line.quantity, line.pack, line.cost_minor) == (part.id, 10, 5, 480)
    assert line.supplier_number == "NG-2041"
    assert (order.goods_minor, order.total_minor) == (480, 1070)
    assert stock_totals.stock_of(part.id).on_order == 0


def test_it_numbers_orders_and_refuses_a_number_twice() -> None:
    seller = a_supplier()
    first = orders.draft_order(seller.id)
    assert first.number != orders.draft_order(seller.id).number
    with pytest.raises(Conflict, match=f"There is an order {first.number} already"):
        orders.draft_order(seller.id, number=first.number)


def test_it_orders_whole_packs_and_says_how_many_to_order() -> None:
    with pytest.raises(Invalid, match="sells 4-way header in packs of 5 pieces: order 15 pieces") as refused:
        a_draft(11)
    assert refused.value.more["least"] == 15


def test_it_orders_no_less_than_the_supplier_takes() -> None:
    part, seller = a_part(), a_supplier()
    suppliers.add_offer(part.id, seller.id, 24, minimum=25)
    with pytest.raises(Invalid, match="in any number, at least 25 pieces: order 25 pieces"):
        orders.draft_order(seller.id, [NewOrderLine(part.id, 3)])


def test_it_takes_the_offer_that_fits_the_quantity_and_is_cheapest() -> None:
    part, seller = a_part(), a_supplier()
    reel = suppliers.add_offer(part.id, seller.id, 9000, pack=1000, supplier_number="REEL")
    single = suppliers.add_offer(part.id, seller.id, 30, supplier_number="ONE")
    assert orders.draft_order(seller.id, [NewOrderLine(part.id, 20)]).lines[0].offer_id == single.id
    assert orders.draft_order(seller.id, [NewOrderLine(part.id, 1000)]).lines[0].offer_id == reel.id


def test_it_orders_what_nobody_offers_at_the_price_that_is_given() -> None:
    part, seller = a_part(), a_supplier()
    order = orders.draft_order(seller.id, [NewOrderLine(part.id, 3, cost_minor=1200)])
    assert (order.lines[0].offer_id, order.lines[0].cost_minor) == (None, 1200)


def test_it_refuses_an_offer_of_another_supplier() -> None:
    part, seller = a_part(), a_supplier()
    other = suppliers.add_supplier("Quayside Spares")
    offer = suppliers.add_offer(part.id, other.id, 10)
    with pytest.raises(Conflict, match="another supplier's or another part's"):
        orders.draft_order(seller.id, [NewOrderLine(part.id, 1, offer.id)])


def test_it_puts_a_part_on_a_draft_once_but_for_each_job_apart() -> None:
    order, part = a_draft()
    with pytest.raises(Conflict, match="is on this order already: change how many there"):
        orders.add_line(order.id, NewOrderLine(part.id, 5))
    job = a_job()
    after = orders.add_line(order.id, NewOrderLine(part.id, 5, job_id=job.id))
    assert [line.job_number for line in after.lines] == ["", job.number]
    closed = a_job()
    jobs.close_job(closed.id)
    with pytest.raises(Conflict, match="is closed"):
        orders.add_line(order.id, NewOrderLine(part.id, 5, job_id=closed.id))


def test_it_changes_how_many_at_the_price_of_so_many() -> None:
    order, _ = a_draft()
    line = order.lines[0]
    assert orders.edit_line(line.id, quantity=20).lines[0].cost_minor == 960
    assert orders.edit_line(line.id, cost_minor=900).lines[0].cost_minor == 900
    with pytest.raises(Invalid, match="order 25 pieces"):
        orders.edit_line(line.id, quantity=21)


@pytest.mark.parametrize("quantity", [0, -5, 10**9 + 1, "10", 2.5, True])
def test_it_refuses_a_quantity_that_cannot_be_right(quantity: object) -> None:
    order, _ = a_draft()
    with pytest.raises(Invalid):
        orders.edit_line(order.lines[0].id, quantity=quantity)  # type: ignore[arg-type]
    with pytest.raises(Invalid):
        orders.add_line(order.id, NewOrderLine(a_part().id, quantity))  # type: ignore[arg-type]
    assert orders.order(order.id).lines == order.lines


def test_it_does_not_overwrite_what_somebody_else_changed() -> None:
    order, _ = a_draft()
    orders.edit_line(order.lines[0].id, order.version, quantity=20)
    with pytest.raises(Stale, match="Somebody changed this order since you opened it"):
        orders.place_order(order.id, order.version)
    assert orders.order(order.id).status == "draft"


def test_it_places_a_draft_and_expects_it_after_the_longest_lead_time() -> None:
    order, part = a_draft()
    slow = a_part("24 V fan", "fan")
    suppliers.add_offer(slow.id, order.supplier_id, 900, lead_days=12)
    orders.add_line(order.id, NewOrderLine(slow.id, 1))
    person = a_person("owner")
    with clock.freeze_at(MONDAY):
        order = orders.place_order(order.id, reference="A-77", by=person.id)
    assert (order.status, order.placed, order.expected) == ("placed", MONDAY, date(2026, 3, 14))
    assert (order.reference, order.person) == ("A-77", person.shown_as)
    assert stock_totals.stock_of(part.id).on_order == 10
    assert [line.order_id for line in orders.open_order_lines(slow.id)] == [order.id]


def test_it_refuses_to_place_an_empty_draft_or_to_place_twice() -> None:
    empty = orders.draft_order(a_supplier().id)
    with pytest.raises(Conflict, match="An order needs a part on it"):
        orders.place_order(empty.id)
    part = a_part()
    orders.add_line(empty.id, NewOrderLine(part.id, 1))
    orders.place_order(empty.id)
    with pytest.raises(Conflict, match="is placed: drop a line of it, or begin another order"):
        orders.place_order(empty.id)
    with pytest.raises(Conflict, match="is placed"):
        orders.add_line(empty.id, NewOrderLine(a_part().id, 1))


def test_it_is_received_in_as_many_parcels_as_it_takes() -> None:
    order, part = placed(10)
    come(order, 4, after_days=3)
    order = orders.order(order.id)
    assert (order.status, order.lines[0].received, order.lines[0].outstanding) == ("placed", 4, 6)
    assert stock_totals.stock_of(part.id).on_order == 6
    come(order, 6, after_days=8)
    order = orders.order(order.id)
    assert (order.status, order.lines[0].outstanding, order.closed) == ("received", 0, MONDAY + timedelta(days=8))
    assert [(delivery.quantity, delivery.days) for delivery in orders.deliveries(order.id)] == [(4, 3), (6, 8)]


def test_an_undone_receipt_is_no_delivery_and_opens_the_order_again() -> None:
    order, part = placed(10)
    undo.undo(come(order, 10))
    order = orders.order(order.id)
    assert (order.status, order.lines[0].outstanding) == ("placed", 10)
    assert orders.deliveries(order.id) == []
    assert stock_totals.stock_of(part.id).on_order == 10


def test_dropping_a_line_expects_no_more_of_it_and_ends_the_order_when_nothing_is_left() -> None:
    order, part = placed(10)
    come(order, 4)
    order = orders.drop_line(order.lines[0].id)
    assert (order.status, order.lines[0].outstanding) == ("received", 0)
    assert order.lines[0].due_minor == 192  # 4 of 10 pieces for 4.80
    assert stock_totals.stock_of(part.id).on_order == 0
    with pytest.raises(Conflict, match="expects nothing on that line"):
        orders.drop_line(order.lines[0].id)
    with pytest.raises(Conflict, match="expects nothing on that line"):
        come(order, 6)


def test_dropping_a_line_of_a_draft_takes_it_off() -> None:
    order, _ = a_draft()
    assert orders.drop_line(order.lines[0].id).lines == ()
    assert orders.order(order.id).status == "draft"


def test_cancelling_expects_nothing_more() -> None:
    order, part = placed()
    order = orders.cancel_order(order.id)
    assert (order.status, order.total_minor) == ("cancelled", 590)
    assert stock_totals.stock_of(part.id).on_order == 0
    with pytest.raises(Conflict, match="is cancelled: there is nothing to cancel"):
        orders.cancel_order(order.id)


def test_cancelling_what_came_in_part_keeps_what_came() -> None:
    order, part = placed(10)
    come(order, 4)
    assert orders.cancel_order(order.id).status == "received"
    assert (stock_totals.stock_of(part.id).on_shelf, stock_totals.stock_of(part.id).on_order) == (4, 0)


def test_whoever_edits_an_order_that_a_parcel_came_in_on_looks_again_first() -> None:
    order, _ = placed(10)
    first = come(order, 4)
    with pytest.raises(Stale):
        orders.cancel_order(order.id, order.version)
    after_parcel = orders.order(order.id)
    undo.undo(first)
    with pytest.raises(Stale):
        orders.edit_order(order.id, after_parcel.version, note="half is here")
    assert orders.edit_order(order.id, orders.order(order.id).version, note="nothing is here").status == "placed"


def test_late_orders_show_the_latest_first() -> None:
    order, _ = placed()  # expected on the 6th
    later = orders.draft_order(order.supplier_id, [NewOrderLine(a_part().id, 1)])
    with clock.freeze_at(MONDAY):
        later = orders.place_order(later.id, expected=date(2026, 3, 9))
    with clock.freeze_at(MONDAY + timedelta(days=4)):
        assert orders.late_orders() == []
    with clock.freeze_at(MONDAY + timedelta(days=9)):
        assert [(order.id, order.days_late) for order in orders.late_orders()] == [(order.id, 5), (later.id, 2)]
        orders.edit_order(order.id, expected=date(2026, 3, 20))
        assert [order.id for order in orders.late_orders()] == [later.id]


def test_it_lists_orders_newest_first_in_pages() -> None:
    seller = a_supplier()
    order_ids = [orders.draft_order(seller.id, reference=f"R{n}").id for n in range(5)]
    first = orders.orders(limit=3)
    rest = orders.orders(limit=3, after=first.next)
    assert [order.id for order in (*first.items, *rest.items)] == order_ids[::-1]
    assert rest.next is None
    order, part = orders.orders(status="placed").items, a_part()
    assert order == []
    orders.add_line(order_ids[2], NewOrderLine(part.id, 1))
    assert [order.id for order in orders.orders(part_id=part.id).items] == [order_ids[2]]
    with pytest.raises(Invalid, match="The status must be one of: draft, placed, received, cancelled"):
        orders.orders(status="lost")


def test_it_refuses_a_supplier_no_longer_bought_from() -> None:
    seller = a_supplier()
    suppliers.edit_supplier(seller.id, active=False)
    with pytest.raises(Conflict, match="Northgate Components is no longer bought from"):
        orders.draft_order(seller.id)


def test_it_keeps_what_is_noted_and_refuses_what_cannot_be() -> None:
    order, _ = a_draft()
    assert orders.edit_order(order.id, note="<b>fragile</b>'; DROP TABLE orders").note.startswith("<b>")
    for wrong in ({"expected": date(1999, 1, 1)}, {"expected": "soon"}, {"shipping_minor": -1}, {"colour": "red"}):
        with pytest.raises(Invalid):
            orders.edit_order(order.id, **wrong)
    with pytest.raises(NotFound, match="There is no order 999"):
        orders.order(999)
    with pytest.raises(NotFound, match="There is no order line 999"):
        orders.edit_line(999, quantity=1)
