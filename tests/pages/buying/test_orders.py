"""The pages of orders: drafting, sending, printing, receiving in parcels, ending one."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine, OrderRecord
from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import receive
from tests.factories import a_bin, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE orders;--"


def a_draft(quantity: int = 10, name: str = "Rear fan", **seller: str) -> tuple[OrderRecord, PartRecord]:
    """Draft an order of one part that is sold in packs of 5 at 20.00."""
    part = a_part(name, "fan")
    supplier = suppliers.add_supplier(seller.pop("seller", "Quayside Spares"), shipping_minor=600, **seller)
    suppliers.add_offer(part.id, supplier.id, 2000, pack=5, supplier_number="QS-60")
    return orders.draft_order(supplier.id, [NewOrderLine(part.id, quantity)]), part


def test_it_lists_orders_by_what_there_is_to_do(tech_page: PageClient) -> None:
    draft, _ = a_draft()
    text = page_text(tech_page.get("/orders"))
    assert "Drafts, not sent yet Quayside Spares" in text
    with clock.freeze_at(clock.now() - timedelta(days=30)):
        orders.place_order(draft.id)
    text = page_text(tech_page.get("/orders"))
    assert "Late Quayside Spares" in text
    assert "25 days late" in text
    orders.cancel_order(draft.id)
    assert "Done with Quayside Spares" in page_text(tech_page.get("/orders"))


def test_it_begins_an_order_by_hand_and_puts_parts_on_it(tech_page: PageClient) -> None:
    _, part = a_draft()
    seller = suppliers.suppliers().items[0]
    page = tech_page.get("/orders")
    draft = follow_redirect(tech_page, submit_form(tech_page, page, "/orders", supplier=seller.id))
    answer = follow_redirect(tech_page, submit_form(tech_page, draft, "/lines", part="rear fan", amount="5"))
    assert "QS-60" in page_text(answer)
    line = orders.orders().items[0].lines[0]
    assert (line.part.id, line.quantity, line.cost_minor) == (part.id, 5, 2000)
    assert submit_form(tech_page, tech_page.get("/orders"), "/orders", supplier="").status_code == 422


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"part": "valve"}, "No part has 'valve'"),
        ({"part": ""}, "Say which part."),
        ({"amount": "lots"}, "is not a quantity"),
        ({"amount": "3"}, "sells Front fan in packs of 5 pieces: order 5 pieces."),
        ({"version": "0"}, "Somebody changed this order since you opened it"),
    ],
)
def test_it_puts_nothing_on_a_draft_that_cannot_be_right(
    tech_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    order, _ = a_draft()
    other = a_part("Front fan", "fan")
    suppliers.add_offer(other.id, order.supplier_id, 900, pack=5)
    page = tech_page.get(f"/orders/{order.id}")
    refused = submit_form(tech_page, page, "/lines", **{"part": "front", "amount": "5", **fields})
    assert refused.status_code in (412, 422)
    assert sentence in page_text(refused)
    assert dict(find_form(refused, "/lines").fields)["amount"] == fields.get("amount", "5")
    assert len(orders.order(order.id).lines) == 1


def test_it_changes_how_many_and_the_cost_follows_the_offer_unless_typed(tech_page: PageClient) -> None:
    order, _ = a_draft()
    name = f"quantity-{order.lines[0].id}"
    page = tech_page.get(f"/orders/{order.id}")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/lines/edit", **{name: "15"}))
    assert orders.order(order.id).lines[0].cost_minor == 6000
    follow_redirect(
        tech_page, submit_form(tech_page, answer, "/lines/edit", **{f"cost-{order.lines[0].id}": "55,50"})
    )
    line = orders.order(order.id).lines[0]
    assert (line.quantity, line.cost_minor) == (15, 5550)


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("quantity", "some", "is not a quantity"),
        ("quantity", "7", "in packs of 5 pieces"),
        ("cost", "cheap", "is not a sum of money"),
    ],
)
def test_it_keeps_what_was_typed_into_lines_that_cannot_be_right(
    tech_page: PageClient, field: str, value: str, sentence: str
) -> None:
    order, _ = a_draft()
    name = f"{field}-{order.lines[0].id}"
    refused = submit_form(tech_page, tech_page.get(f"/orders/{order.id}"), "/lines/edit", **{name: value})
    assert refused.status_code == 422
    assert sentence in page_text(refused)
    assert dict(find_form(refused, "/lines/edit").fields)[name] == value
    assert orders.order(order.id).lines[0].quantity == 10


def test_it_takes_a_line_off(tech_page: PageClient) -> None:
    order, _ = a_draft()
    body = tech_page.get(f"/orders/{order.id}").get_data(as_text=True)
    drop = f"/orders/{order.id}/lines/{order.lines[0].id}/drop"
    assert f'formaction="{drop}"' in body
    follow_redirect(tech_page, tech_page.post_form(drop))
    assert orders.order(order.id).lines == ()
    other, _ = a_draft(name="Belt", seller="Northgate")
    assert tech_page.post_form(f"/orders/{order.id}/lines/{other.lines[0].id}/drop").status_code == 409
    assert len(orders.order(other.id).lines) == 1
    stale = tech_page.post_form(f"/orders/{other.id}/lines/{other.lines[0].id}/drop", version=other.version - 1)
    assert stale.status_code == 412
    assert len(orders.order(other.id).lines) == 1


def test_it_is_sent_and_counts_as_stock_to_come(tech_page: PageClient) -> None:
    order, part = a_draft(email="orders@quayside.example")
    page = tech_page.get(f"/orders/{order.id}")
    assert "orders@quayside.example" in page_text(page)
    expected = clock.today() + timedelta(days=9)
    follow_redirect(tech_page, submit_form(tech_page, page, "/place", expected=str(expected), reference="Q-1"))
    now = orders.order(order.id)
    assert (now.status, now.expected, now.reference, now.person) == (
        "placed",
        expected,
        "Q-1",
        tech_page.person.shown_as,
    )
    assert "10 pieces on order" in page_text(tech_page.get(f"/parts/{part.id}"))
    assert tech_page.post_form(f"/orders/{order.id}/place").status_code == 409


def test_it_is_not_sent_empty_nor_for_a_day_that_is_none(tech_page: PageClient) -> None:
    order, _ = a_draft()
    refused = submit_form(
        tech_page, tech_page.get(f"/orders/{order.id}"), "/place", expected="soon", reference="kept"
    )
    assert refused.status_code == 422
    assert dict(find_form(refused, "/place").fields)["reference"] == "kept"
    orders.drop_line(order.lines[0].id)
    assert tech_page.post_form(f"/orders/{order.id}/place").status_code == 409
    assert orders.order(order.id).status == "draft"


def test_it_shows_what_came_in_two_parcels(tech_page: PageClient) -> None:
    order, part = a_draft()
    bin_ = a_bin(part)
    with clock.freeze_at(clock.now() - timedelta(days=6)):
        orders.place_order(order.id)
    receive.receive(part.id, 4, bin_.id, order_line_id=order.lines[0].id)
    page = tech_page.get(f"/orders/{order.id}")
    assert "4 pieces of 10 pieces came" in page_text(page)
    assert "after 6 days" in page_text(page)
    assert f'href="/receive?line={order.lines[0].id}"' in page.get_data(as_text=True)
    follow_redirect(tech_page, submit_form(tech_page, page, "/drop"))
    assert orders.order(order.id).status == "received"
    assert "all here" in page_text(tech_page.get(f"/orders/{order.id}"))


def test_it_expects_nothing_more_when_it_is_ended(tech_page: PageClient) -> None:
    order, _ = a_draft()
    orders.place_order(order.id)
    follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/orders/{order.id}"), "/cancel"))
    assert orders.order(order.id).status == "cancelled"
    assert tech_page.post_form(f"/orders/{order.id}/cancel").status_code == 409


def test_it_changes_what_is_noted(tech_page: PageClient) -> None:
    order, _ = a_draft()
    page = tech_page.get(f"/orders/{order.id}")
    follow_redirect(
        tech_page,
        submit_form(tech_page, page, f"/{order.id}/edit", number="2026-7", shipping_minor="4.20", note="ring first"),
    )
    now = orders.order(order.id)
    assert (now.number, now.shipping_minor, now.note) == ("2026-7", 420, "ring first")
    page = tech_page.get(f"/orders/{order.id}")
    refused = submit_form(tech_page, page, f"/{order.id}/edit", number="", shipping_minor="free", note="kept words")
    assert refused.status_code == 422
    assert "kept words" in page_text(refused)
    assert orders.order(order.id).number == "2026-7"


def test_it_reads_as_plain_text_prints_and_exports_as_csv(tech_page: PageClient) -> None:
    order, part = a_draft()
    text = tech_page.get(f"/orders/{order.id}/text")
    assert text.content_type.startswith("text/plain")
    body = text.get_data(as_text=True)
    assert f"Order {order.number}" in body
    assert "10 pieces  Rear fan (your no. QS-60), 2 packs of 5 pieces  40.00 EUR" in body
    assert "Total: 46.00 EUR" in body
    table = tech_page.get(f"/orders/{order.id}/lines.csv")
    rows = list(csv.DictReader(io.StringIO(table.get_data(as_text=True))))
    assert [(r["supplier_number"], r["number"], r["quantity"], r["cost"], r["packs"], r["pack"]) for r in rows] == [
        ("QS-60", part.number, "10", "40.00", "2", "5")
    ]
    assert table.headers["Content-Disposition"] == f"attachment; filename=order-{order.number}.csv"
    printed = page_text(tech_page.get(f"/orders/{order.id}/print"))
    assert "46.00 EUR" in printed
    assert "2 x 5 pieces" in printed


def test_it_exports_nothing_that_a_spreadsheet_takes_for_a_formula(tech_page: PageClient) -> None:
    order, part = a_draft(name='=HYPERLINK("http://bad.example")')
    table = tech_page.get(f"/orders/{order.id}/lines.csv").get_data(as_text=True)
    assert next(csv.DictReader(io.StringIO(table)))["name"] == "'" + parts.part(part.id).name


def test_it_shows_html_and_sql_in_every_text_as_text(tech_page: PageClient) -> None:
    order, _ = a_draft(name=EVIL, seller=EVIL[:100])
    orders.edit_order(order.id, reference=EVIL, note=EVIL, number=EVIL[:30])
    for address in ("/orders", f"/orders/{order.id}", f"/orders/{order.id}/print"):
        body = tech_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;" in body
    assert tech_page.get(f"/orders/{order.id}/text").headers["X-Content-Type-Options"] == "nosniff"


def test_it_finds_no_order_that_is_not_there(tech_page: PageClient) -> None:
    for address in ("/orders/999", "/orders/999/text", "/orders/999/lines.csv", "/orders/999/print"):
        assert tech_page.get(address).status_code == 404
    assert tech_page.post_form("/orders/999/cancel").status_code == 404
    order, _ = a_draft()
    assert tech_page.post_form(f"/orders/{order.id}/lines/999/drop").status_code == 404


def test_it_lets_a_viewer_look_and_nothing_else(viewer_page: PageClient) -> None:
    order, _ = a_draft()
    assert "It is sent" not in page_text(viewer_page.get(f"/orders/{order.id}"))
    for what in ("lines", "lines/edit", "place", "cancel", "edit", f"lines/{order.lines[0].id}/drop"):
        assert viewer_page.post_form(f"/orders/{order.id}/{what}").status_code == 403
    assert viewer_page.post_form("/orders", supplier="1").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    order, _ = a_draft()
    assert tech_page.get(f"/orders/{order.id}/place").status_code == 405
    assert tech_page.post_form(f"/orders/{order.id}").status_code == 405
