"""Unpacking a parcel: all that an order waits for goes into its bins in one go, or what differs is said first."""

from __future__ import annotations

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine, OrderRecord
from inventory.domain.catalogue.lots import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.records import BinRecord, PartRecord
from inventory.domain.movements import receive
from inventory.store import verify
from tests.factories import a_bin, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_text, submit_form

Parcel = tuple[OrderRecord, PartRecord, BinRecord, PartRecord]


@pytest.fixture
def parcel(tech_page: PageClient) -> Parcel:
    """An order under way for ten headers, which have a bin, and 100 ml of flux, of which some lies in a mixed bin."""
    seller = suppliers.add_supplier("Quayside Spares")
    header, flux = a_part(), a_part("Flux", "consumable", kept="by level", unit="ml")
    own_bin, mixed = a_bin(header), a_bin(mixed=True, name="Shelf")
    receive.receive(flux.id, 5, mixed.id)
    drafted = orders.draft_order(seller.id, [NewOrderLine(header.id, 10), NewOrderLine(flux.id, 100)])
    return orders.place_order(drafted.id), header, own_bin, flux


def test_one_tap_puts_all_of_it_into_its_bins(tech_page: PageClient, parcel: Parcel) -> None:
    order, header, own_bin, flux = parcel
    assert f'href="/orders/{order.id}/unpack"' in tech_page.get(f"/orders/{order.id}").text
    page = tech_page.get(f"/orders/{order.id}/unpack")
    line = order.lines[1].id
    result_page = follow_redirect(
        tech_page, submit_form(tech_page, page, "/unpack", **{f"best_before-{line}": "2027-05-01"})
    )
    assert "2 lots are in: print labels below." in page_text(result_page)
    assert (stock_of(header.id).on_shelf, stock_of(flux.id).on_shelf) == (10, 105)
    assert orders.order(order.id).status == "received"
    lot = lots(part_id=flux.id).items[0]
    assert (str(lot.best_before), lot.order_line_id, lot.supplier_id) == ("2027-05-01", line, order.supplier_id)
    both = sorted((lots(part_id=header.id).items[0].id, lot.id))
    assert "Labels of what came last" in page_text(result_page)
    assert all(f"lot={lot}" in result_page.text for lot in both)
    assert verify.verify_ledger().sound
    assert own_bin.name in page_text(tech_page.get(f"/lots/{both[0]}"))


def test_what_is_not_in_the_parcel_stays_awaited(tech_page: PageClient, parcel: Parcel) -> None:
    order, header, _, flux = parcel
    first, second = (line.id for line in order.lines)
    page = tech_page.get(f"/orders/{order.id}/unpack")
    result_page = follow_redirect(
        tech_page, submit_form(tech_page, page, "/unpack", **{f"amount-{first}": "6", f"amount-{second}": ""})
    )
    assert "1 lot is in" in page_text(result_page)
    assert [line.outstanding for line in orders.order(order.id).lines] == [4, 100]
    assert (stock_of(header.id).on_shelf, stock_of(flux.id).on_shelf) == (6, 5)


def test_what_is_off_is_said_beside_its_field_and_nothing_is_put_in(tech_page: PageClient, parcel: Parcel) -> None:
    order, header, _, flux = parcel
    first, second = (line.id for line in order.lines)
    other = a_bin(a_part("Belt", "other"))
    page = tech_page.get(f"/orders/{order.id}/unpack")
    for fields, said in (
        ({f"amount-{second}": "lots"}, "'lots' is not"),
        ({f"bin-{second}": other.name}, f"Bin {other.name} is another part's"),
        ({f"bin-{second}": ""}, "Say which bin Flux goes into."),
        ({f"bin-{second}": "Nowhere"}, "No bin is called 'Nowhere'"),
        ({f"best_before-{second}": "soon"}, "Type a day as year-month-day"),
        ({f"best_before-{second}": "1901-01-01"}, "check the year"),
        ({f"amount-{first}": "0", f"amount-{second}": ""}, "Nothing came?"),
    ):
        refused = submit_form(tech_page, page, "/unpack", **fields)
        assert refused.status_code == 422
        assert said in page_text(refused)
        assert (stock_of(header.id).on_shelf, stock_of(flux.id).on_shelf) == (0, 5)


def test_only_an_order_under_way_is_unpacked_and_only_by_a_tech(
    tech_page: PageClient, viewer_page: PageClient, parcel: Parcel
) -> None:
    order = parcel[0]
    assert viewer_page.get(f"/orders/{order.id}/unpack").status_code == 403
    assert "Unpack the parcel" not in page_text(viewer_page.get(f"/orders/{order.id}"))
    orders.cancel_order(order.id)
    refused = tech_page.get(f"/orders/{order.id}/unpack")
    assert refused.status_code == 409
    assert "is cancelled: there is nothing to unpack" in page_text(refused)
    assert tech_page.get("/orders/99/unpack").status_code == 404
