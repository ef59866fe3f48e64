"""Receiving a bag by its own code: from the scan field to the lot, with what is learned on the way."""

from __future__ import annotations

from urllib.parse import parse_qs, urlsplit

import pytest

from inventory.domain.buying import bag_pairings, orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.records import LotRecord
from tests.barcode_images import iso15434_envelope
from tests.factories import a_bin, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form

BAG = iso15434_envelope("1PWB-H4-200", "30PNG-558", "Q25", "1TNG881", "9D2541", "14D20281231")
TYPED = "[)>{RS}06{GS}1PWB-H4-200{GS}30PNG-558{GS}Q25{GS}1TNG881{GS}9D2541{GS}14D20281231{RS}{EOT}"


def newest_lot(part_id: int) -> LotRecord:
    """Return the newest lot of a part."""
    record: LotRecord = lots.lots(part_id=part_id).items[0]
    return record


@pytest.mark.parametrize("scanned", [BAG, TYPED, "]d1" + BAG, BAG.replace("\x1d", "^]").replace("\x1e", "^^")])
def test_the_scan_field_takes_a_bags_code_and_fills_in_the_receipt(tech_page: PageClient, scanned: str) -> None:
    part = a_part("Board header", maker_number="WB-H4-200")
    bin_ = a_bin(part)
    page = follow_redirect(tech_page, tech_page.get("/find", query_string={"q": scanned}))
    filled = dict(find_form(page, "/receive", "receive").fields)
    assert filled["part"] == str(part.id)
    assert {name: filled[name] for name in ("amount", "bin", "maker_lot", "date_code", "best_before")} == {
        "amount": "25", "bin": bin_.name, "maker_lot": "NG881", "date_code": "2541", "best_before": "2028-12-31",
    }  # fmt: skip
    assert "WB-H4-200 is the maker's number." in page_text(page)


def test_the_field_that_asks_what_came_in_takes_it_too(tech_page: PageClient) -> None:
    a_part("Board header", maker_number="WB-H4-200")
    page = tech_page.get("/receive", query_string={"q": TYPED})
    assert page.status_code == 200
    assert dict(find_form(page, "/receive", "receive").fields)["amount"] == "25"


def test_what_is_confirmed_becomes_a_lot_that_keeps_the_code(tech_page: PageClient) -> None:
    part = a_part("Board header", maker_number="WB-H4-200")
    a_bin(part)
    page = tech_page.get("/receive", query_string={"bag": TYPED})
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/receive", amount="24"))
    lot = newest_lot(part.id)
    assert (lot.quantity, lot.maker_lot, lot.date_code, lot.raw_code) == (24, "NG881", "2541", TYPED)
    assert TYPED.replace(">", "&gt;") in answer.get_data(as_text=True)


def test_the_order_that_expects_it_is_suggested(tech_page: PageClient) -> None:
    part = a_part(maker_number="WB-H4-200")
    a_bin(part)
    seller = suppliers.add_supplier("Northgate Components")
    drafted = orders.draft_order(seller.id, [NewOrderLine(part.id, 25, cost_minor=1000)])
    order = orders.place_order(drafted.id)
    page = tech_page.get(
        "/receive", query_string={"bag": iso15434_envelope("1PWB-H4-200", "Q25", f"K{order.number}")}
    )
    assert dict(find_form(page, "/receive", "receive").fields)["line"] == str(order.lines[0].id)
    follow_redirect(tech_page, submit_form(tech_page, page, "/receive"))
    assert orders.order(order.id).status == "received"


def test_an_unknown_number_is_asked_about_once(tech_page: PageClient) -> None:
    part = a_part("Board header")
    a_bin(part)
    question_page = follow_redirect(tech_page, tech_page.get("/find", query_string={"q": BAG}))
    assert "No part here has WB-H4-200 or NG-558. Say which part it is, once" in page_text(question_page)
    answer = tech_page.get(
        "/receive", query_string={**dict(find_form(question_page, "/receive").fields), "q": "board header"}
    )
    follow_redirect(tech_page, submit_form(tech_page, answer, "/receive"))
    assert [pairing.number for pairing in bag_pairings.pairings(part_id=part.id).items] == ["NG-558", "WB-H4-200"]
    second_page = tech_page.get("/receive", query_string={"bag": iso15434_envelope("30PNG-558", "Q10")})
    assert dict(find_form(second_page, "/receive", "receive").fields)["amount"] == "10"
    assert "NG-558 was said to be this part" in page_text(second_page)


def test_looking_without_putting_in_teaches_nothing(tech_page: PageClient) -> None:
    part = a_part("Board header")
    tech_page.get("/receive", query_string={"bag": BAG, "part": part.id})
    assert bag_pairings.pairings().items == []


def test_parts_that_the_numbers_may_mean_are_offered(tech_page: PageClient) -> None:
    first, other = a_part("Header", maker_number="WB-H4-200"), a_part("Header, angled", maker_number="WB-H4-200")
    page = tech_page.get("/receive", query_string={"bag": BAG})
    assert "Its numbers mean several parts." in page_text(page)
    for part in (first, other):
        assert f"part={part.id}&amp;bag=" in page.get_data(as_text=True)


def test_a_part_that_it_was_taken_for_wrongly_is_changed_and_that_is_learned(tech_page: PageClient) -> None:
    a_part("Wrong header", maker_number="WB-H4-200")
    right = a_part("Right header")
    a_bin(right)
    page = tech_page.get("/receive", query_string={"bag": BAG, "other": "1"})
    assert "Which part is it, then?" in page_text(page)
    answer = tech_page.get("/receive", query_string={**dict(find_form(page, "/receive").fields), "q": "right header"})
    assert "that is another part: Wrong header" in page_text(answer)
    follow_redirect(tech_page, submit_form(tech_page, answer, "/receive"))
    assert "Right header" in page_text(tech_page.get("/receive", query_string={"bag": BAG}))


def test_a_new_part_is_described_with_what_the_bag_says_and_then_received(tech_page: PageClient) -> None:
    question_page = tech_page.get("/receive", query_string={"bag": iso15434_envelope("1PQX-77", "1VOrrery", "Q5")})
    assert "/parts/new?bag=" in question_page.get_data(as_text=True)
    query = {"kind": "fan", "bag": iso15434_envelope("1PQX-77", "1VOrrery", "Q5")}
    page = tech_page.get("/parts/new", query_string=query)
    filled = dict(find_form(page, "/parts/new").fields)
    assert (filled["maker"], filled["maker_number"]) == ("Orrery", "QX-77")
    answer = submit_form(tech_page, page, "/parts/new", number="F-9", name="Rear fan")
    assert urlsplit(answer.headers["Location"]).path == "/receive"
    shown_page = follow_redirect(tech_page, answer)
    assert "Rear fan" in page_text(shown_page)
    assert dict(find_form(shown_page, "/receive", "receive").fields)["amount"] == "5"


def test_the_same_code_twice_is_pointed_out_and_may_still_be_received(tech_page: PageClient) -> None:
    part = a_part(maker_number="WB-H4-200")
    a_bin(part)
    for expected in (25, 50):
        page = tech_page.get("/receive", query_string={"bag": BAG})
        assert ("This very code was received" in page_text(page)) is (expected == 50)
        follow_redirect(tech_page, submit_form(tech_page, page, "/receive"))
        assert stock_of(part.id).on_shelf == expected


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        (iso15434_envelope("Q0"), "The code says that the bag holds 0 pieces: count it and type the quantity."),
        ("[)>061PXQ25", "The scanner left out the separators between the fields."),
        ("(01)09521234543214", "The check digit of 09521234543214 is wrong"),
        ("[)>" + "x" * 5000, "characters are no bag code"),
    ],
)
def test_a_code_that_cannot_be_right_is_refused_and_the_bag_can_be_typed(
    tech_page: PageClient, code: str, sentence: str
) -> None:
    page = follow_redirect(tech_page, tech_page.get("/find", query_string={"q": code}))
    assert page.status_code == 422
    assert sentence in page_text(page)
    assert "What came in?" in page_text(page)


def test_what_a_code_gives_as_it_cannot_be_is_asked_for_beside_what_it_gives_right(tech_page: PageClient) -> None:
    part = a_part("Board header", maker_number="WB-H4-200")
    a_bin(part, name="A-14")
    page = tech_page.get(
        "/receive", query_string={"bag": iso15434_envelope("1PWB-H4-200", "Q0", "14D20280230", "1TNG881")}
    )
    assert page.status_code == 200
    filled = dict(find_form(page, "/receive", "receive").fields)
    assert (filled["amount"], filled["best_before"], filled["maker_lot"]) == ("", "", "NG881")
    for sentence in (
        "The code says that the bag holds 0 pieces: count it and type the quantity.",
        "'20280230' is no last day that exists: read the bag and type it.",
    ):
        assert sentence in page_text(page)
    assert page.get_data(as_text=True).count('aria-invalid="true"') == 2
    follow_redirect(tech_page, submit_form(tech_page, page, "/receive", amount="24", best_before="2028-02-29"))
    lot = newest_lot(part.id)
    assert (lot.quantity, str(lot.best_before), lot.maker_lot) == (24, "2028-02-29", "NG881")


def test_a_thousand_with_a_dot_is_asked_about_and_what_is_not_used_is_shown(tech_page: PageClient) -> None:
    part = a_part("Board header", maker_number="WB-H4-200")
    a_bin(part)
    bag = iso15434_envelope("1PWB-H4-200", "Q1.000", "13E3", "10K88", "15D31122028")
    page = tech_page.get("/receive", query_string={"bag": bag})
    filled = dict(find_form(page, "/receive", "receive").fields)
    assert (filled["amount"], filled["best_before"]) == ("", "2028-12-31")
    text = page_text(page)
    assert "The quantity '1.000' can mean 1 or 1000: count the bag and type it." in text
    assert "Also on the bag, not used (2)" in text
    assert "Moisture level (13E) 3" in text
    assert "Invoice (10K) 88" in text


def test_an_amount_in_metres_is_taken_for_a_part_that_is_kept_by_length(tech_page: PageClient) -> None:
    part = a_part("Copper foil tape", kind="consumable", unit="mm", maker_number="CF-10")
    a_bin(part)
    page = tech_page.get("/receive", query_string={"bag": iso15434_envelope("1PCF-10", "7Q20MR")})
    follow_redirect(tech_page, submit_form(tech_page, page, "/receive"))
    assert newest_lot(part.id).quantity == 20_000


def test_a_scanner_that_types_for_another_keyboard_is_understood_and_told_what_to_set(tech_page: PageClient) -> None:
    part = a_part("Board header", maker_number="WB-H4-200")
    a_bin(part)
    page = follow_redirect(tech_page, tech_page.get("/find", query_string={"q": "ü=:ÜRS*06ÜGS*1PWBßH4ß200ÜGS*Q25"}))
    assert dict(find_form(page, "/receive", "receive").fields)["amount"] == "25"
    assert "Set the scanner's keyboard country to German, by the code in its manual." in page_text(page)
    follow_redirect(tech_page, submit_form(tech_page, page, "/receive"))
    assert newest_lot(part.id).raw_code == "[)>{RS}06{GS}1PWB-H4-200{GS}Q25"


def test_a_refused_receipt_keeps_the_bag(tech_page: PageClient) -> None:
    part = a_part("Board header", maker_number="WB-H4-200")
    page = tech_page.get("/receive", query_string={"bag": TYPED})
    refused = submit_form(tech_page, page, "/receive", amount="many", bin="nowhere")
    assert refused.status_code == 422
    fields = dict(find_form(refused, "/receive", "receive").fields)
    assert (fields["raw_code"], fields["amount"], fields["maker_lot"]) == (TYPED, "many", "NG881")
    assert stock_of(part.id).on_shelf == 0


@pytest.mark.parametrize(
    "text", ["<script>x</script>", "'; DROP TABLE parts; --", "مروحة", "\u202eabc", "a\x00b", "\x07bell", "x" * 300]
)
def test_whatever_the_fields_of_a_bag_hold_comes_out_as_text(tech_page: PageClient, text: str) -> None:
    page = tech_page.get("/receive", query_string={"bag": iso15434_envelope(f"1P{text}", f"1T{text}", "Q5")})
    assert page.status_code == 200
    assert "<script>x" not in page.get_data(as_text=True)


def test_a_part_shows_the_numbers_that_were_learned_and_forgets_one(tech_page: PageClient) -> None:
    part = a_part()
    bag_pairings.add_pairing("QX-77", part.id)
    page = tech_page.get(f"/parts/{part.id}")
    assert "QX-77" in page_text(page)
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/not-this-number"))
    assert "the next bag that carries it is asked about" in page_text(answer)
    assert bag_pairings.pairings().items == []


def test_the_address_of_a_web_page_is_no_code(tech_page: PageClient) -> None:
    page = tech_page.get("/find", query_string={"q": "https://shop.example/item/9"})
    assert page.status_code == 404
    assert "That is the address of a web page" in page_text(page)


def test_a_viewer_receives_nothing(viewer_page: PageClient) -> None:
    answer = viewer_page.get("/find", query_string={"q": BAG})
    assert parse_qs(urlsplit(answer.headers["Location"]).query)["bag"] == [BAG.strip()]
    assert follow_redirect(viewer_page, answer).status_code == 403
