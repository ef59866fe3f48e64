"""The pages of suppliers and of what each sells a part for."""

from __future__ import annotations

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import SupplierRecord
from tests.factories import a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE suppliers;--"


def a_seller(name: str = "Northgate Components", **more: object) -> SupplierRecord:
    """Add a supplier."""
    return suppliers.add_supplier(name, **more)


def test_it_adds_a_supplier_and_lists_it(tech_page: PageClient) -> None:
    page = tech_page.get("/suppliers/new")
    answer = follow_redirect(
        tech_page,
        submit_form(
            tech_page, page, "/new", name="Quayside Spares", lead_days="12", shipping_minor="12.50", note="Ilse"
        ),
    )
    assert "12 days stated" in page_text(answer)
    supplier = suppliers.suppliers().items[0]
    assert (supplier.name, supplier.lead_days, supplier.shipping_minor, supplier.active) == (
        "Quayside Spares",
        12,
        1250,
        True,
    )
    assert "Quayside Spares" in page_text(tech_page.get("/suppliers"))


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"name": ""}, "Give the supplier a name."),
        ({"lead_days": "soon"}, "Type a whole number"),
        ({"lead_days": "-1"}, "must be a whole number from 0 to 1000"),
        ({"shipping_minor": "free"}, "is not a sum of money"),
        ({"email": "at home"}, "An e-mail address looks like"),
        ({"name": "Northgate Components"}, "There is a supplier Northgate Components already"),
    ],
)
def test_it_says_what_is_wrong_and_keeps_what_was_typed(
    tech_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    a_seller()
    page = tech_page.get("/suppliers/new")
    refused = submit_form(tech_page, page, "/new", **{"name": "Another", "note": "kept words", **fields})
    assert refused.status_code in (409, 422)
    assert sentence in page_text(refused)
    assert "kept words" in page_text(refused)
    assert len(suppliers.suppliers(active=None).items) == 1


def test_it_changes_a_supplier_and_stops_buying_from_it(tech_page: PageClient) -> None:
    seller = a_seller()
    page = tech_page.get(f"/suppliers/{seller.id}")
    form = find_form(page, "/edit")
    form.fields = [field for field in form.fields if field[0] != "active"]
    follow_redirect(tech_page, tech_page.post(form.action, data={**dict(form.fields), "lead_days": "9"}))
    now = suppliers.supplier(seller.id)
    assert (now.lead_days, now.active) == (9, False)
    assert "Northgate" not in page_text(tech_page.get("/suppliers"))
    assert "Northgate" in page_text(tech_page.get("/suppliers?gone=1"))


def test_it_refuses_an_edit_of_what_somebody_changed_meanwhile(tech_page: PageClient) -> None:
    seller = a_seller()
    page = tech_page.get(f"/suppliers/{seller.id}")
    suppliers.edit_supplier(seller.id, note="ring first")
    refused = submit_form(tech_page, page, "/edit", name="Mine")
    assert refused.status_code == 412
    assert suppliers.supplier(seller.id).name == "Northgate Components"


def test_it_notes_an_offer_with_packs_breaks_and_a_lead_time(tech_page: PageClient) -> None:
    seller, part = a_seller(), a_part("Wire", "consumable", unit="mm")
    page = tech_page.get(f"/offers/new?part={part.id}")
    follow_redirect(
        tech_page,
        submit_form(
            tech_page,
            page,
            "/new",
            supplier=seller.id,
            supplier_number="NG-1",
            pack="100 m",
            price_minor="45",
            breaks="5: 40.00\n20: 35",
            lead_days="3",
            preferred="1",
        ),
    )
    offer = suppliers.offers(part_id=part.id).items[0]
    assert (offer.pack, offer.price_minor, offer.breaks) == (100_000, 4500, ((5, 4000), (20, 3500)))
    assert (offer.lead_days, offer.preferred) == (3, True)
    assert "NG-1" in page_text(tech_page.get(f"/suppliers/{seller.id}"))
    second_page = tech_page.get(f"/offers/{offer.id}")
    assert dict(find_form(second_page, f"/offers/{offer.id}").fields)["breaks"].split("\n") == [
        "5: 40.00",
        "20: 35.00",
    ]


def test_it_finds_the_part_of_an_offer_by_words(tech_page: PageClient) -> None:
    seller = a_seller()
    a_part("4-way header"), a_part("5-way header")
    page = tech_page.get(f"/offers/new?supplier={seller.id}")
    refused = submit_form(tech_page, page, "/new", part="header", price_minor="1")
    assert refused.status_code == 422
    assert "Which of these?" in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, page, "/new", part="5-way", price_minor="1"))
    assert suppliers.offers(supplier_id=seller.id).items[0].price_minor == 100


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"price_minor": ""}, "Say what a pack costs."),
        ({"price_minor": "cheap"}, "is not a sum of money"),
        ({"pack": "a few"}, "is not a quantity"),
        ({"pack": "0"}, "The quantity must be at least 1 piece"),
        ({"supplier": ""}, "Choose"),
        ({"supplier": "999"}, "There is no supplier 999"),
        ({"breaks": "ten for five"}, "Write each price break as packs, a colon"),
        ({"breaks": "10: much"}, "is not a sum of money"),
        ({"breaks": "10: 99"}, "From 10 packs the price must be below"),
        ({"lead_days": "1001"}, "must be a whole number from 0 to 1000"),
    ],
)
def test_it_notes_no_offer_that_cannot_be_right(tech_page: PageClient, fields: dict[str, str], sentence: str) -> None:
    seller, part = a_seller(), a_part()
    page = tech_page.get(f"/offers/new?part={part.id}")
    data = {"supplier": str(seller.id), "price_minor": "9.00", "supplier_number": "kept", **fields}
    refused = submit_form(tech_page, page, "/new", **data)
    assert refused.status_code in (404, 422)
    assert sentence in page_text(refused)
    assert dict(find_form(refused, "/new").fields)["supplier_number"] == "kept"
    assert suppliers.offers().items == []


def test_it_changes_an_offer(tech_page: PageClient) -> None:
    seller, part = a_seller(), a_part()
    offer = suppliers.add_offer(part.id, seller.id, 900)
    page = tech_page.get(f"/offers/{offer.id}")
    follow_redirect(tech_page, submit_form(tech_page, page, f"/offers/{offer.id}", price_minor="8", minimum="10"))
    now = suppliers.offer(offer.id)
    assert (now.price_minor, now.minimum, now.active) == (800, 10, True)


def test_it_shows_html_and_sql_in_every_text_as_text(tech_page: PageClient) -> None:
    seller = a_seller(EVIL[:100], note=EVIL)
    offer = suppliers.add_offer(a_part(EVIL).id, seller.id, 900, supplier_number=EVIL)
    for address in ("/suppliers", f"/suppliers/{seller.id}", f"/offers/{offer.id}"):
        body = tech_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;alert" in body


def test_it_finds_nothing_that_is_not_there(tech_page: PageClient) -> None:
    for address in ("/suppliers/999", "/offers/999", "/offers/new?part=999"):
        assert tech_page.get(address).status_code == 404
    assert tech_page.post_form("/suppliers/999/edit", name="x").status_code == 404
    assert tech_page.post_form("/offers/999", price_minor="1").status_code == 404


def test_it_lets_a_viewer_look_and_nothing_else(viewer_page: PageClient) -> None:
    seller = a_seller()
    offer = suppliers.add_offer(a_part().id, seller.id, 900)
    assert "Change this supplier" not in page_text(viewer_page.get(f"/suppliers/{seller.id}"))
    assert viewer_page.get(f"/offers/{offer.id}").status_code == 200
    for address in ("/suppliers/new", "/offers/new"):
        assert viewer_page.get(address).status_code == 403
    for address in ("/suppliers/new", f"/suppliers/{seller.id}/edit", "/offers/new", f"/offers/{offer.id}"):
        assert viewer_page.post_form(address, name="x").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    seller = a_seller()
    assert tech_page.post_form("/suppliers").status_code == 405
    assert tech_page.get(f"/suppliers/{seller.id}/edit").status_code == 405
