"""Scanning and finding: a code opens what it is on, a slip is asked about, words are looked for."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.movements import receive
from shared.codes import generate_code
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_text
from tests.proof_factories import a_piece


@pytest.mark.parametrize(
    "value",
    ["/S/{code}", "/s/{code}", "/s/{lower}", "/S/{dashed}", "/find?q={lower}", "/find?q=https://other.host/S/{code}"],
)
def test_a_code_in_any_writing_opens_its_bin(tech_page: PageClient, value: str) -> None:
    bin_ = a_bin(name="A-14")
    code = bin_.code
    dashed = f"{code[:3]}-{code[3:6]}-{code[6:]}"
    page = follow_redirect(tech_page, tech_page.get(value.format(code=code, lower=code.lower(), dashed=dashed)))
    assert "Bin A-14" in page_text(page)


def test_it_opens_lots_pieces_and_jobs_too(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part()
    piece, job = a_piece("C-07"), a_job()
    assert receipt.made_lot is not None
    for code, path in (
        (receipt.made_lot.code, f"/lots/{receipt.made_lot.id}"),
        (piece.code, f"/pieces/{piece.id}"),
        (job.code, f"/jobs/{job.id}"),
    ):
        assert tech_page.get(f"/S/{code}").headers["Location"] == path


def test_a_slip_is_answered_with_what_was_meant(tech_page: PageClient) -> None:
    code = a_bin(name="A-14").code
    slip = code[:-1] + ("2" if code[-1] != "2" else "3")
    for path in (f"/S/{slip}", f"/find?q={slip}"):
        page = tech_page.get(path)
        assert page.status_code in (404, 422)
        assert "Did you mean" in page_text(page)
        assert f'href="/S/{code}"' in page.get_data(as_text=True)
        assert "Bin A-14" in page_text(page)  # a code alone tells nobody whether it was meant


def test_a_code_that_nobody_has_is_said_to_be_unknown(tech_page: PageClient) -> None:
    other = generate_code("bin")
    page = tech_page.get(f"/S/{other}")
    assert page.status_code == 404
    assert "here has the code" in page_text(page)
    assert "Scan" in page_text(page)


@pytest.mark.parametrize("text", ["hello", "etc/passwd", "%00", "'; DROP TABLE bins; --", "<script>x</script>"])
def test_what_is_no_code_is_refused_in_words_and_comes_out_as_text(tech_page: PageClient, text: str) -> None:
    page = tech_page.get(f"/S/{text}")
    assert page.status_code in (404, 422)
    assert "<script>x" not in page.get_data(as_text=True)


def test_the_scan_field_waits_for_a_scan(tech_page: PageClient) -> None:
    page = tech_page.get("/scan").get_data(as_text=True)
    assert "autofocus" in page
    assert "Scanned lately" in page


def test_what_was_scanned_on_this_device_is_listed_newest_first(tech_page: PageClient) -> None:
    first, second = a_bin(name="A-01"), a_bin(name="A-02")
    for bin_ in (first, second, first):
        tech_page.get(f"/S/{bin_.code}")
    text = page_text(tech_page.get("/scan"))
    assert text.index("Bin A-01") < text.index("Bin A-02")
    assert text.count("Bin A-01") == 1


def test_a_stranger_signs_in_and_then_sees_what_was_scanned(client: FlaskClient) -> None:
    code = a_bin().code
    answer = client.get(f"/S/{code}")
    assert answer.status_code == 302
    assert f"next=/S/{code}" in answer.headers["Location"]


# ---- finding ---------------------------------------------------------------------------------------------


def test_words_find_parts_with_the_bin_they_are_in(tech_page: PageClient) -> None:
    part = a_part("Board header", attributes={"pitch_mm": 2, "ways": 4})
    bin_ = a_bin(part, name="A-14")
    receive.receive(part.id, 12, bin_.id)
    page = tech_page.get("/find?q=header+2.0")
    assert "Board header" in page_text(page)
    assert "A-14 12 pieces" in page_text(page)
    assert f'href="/bins/{bin_.id}"' in page.get_data(as_text=True)


def test_words_find_jobs_bins_pieces_and_models(tech_page: PageClient) -> None:
    a_job(customer="Aldwych Theatre", unit_model="Corvid 7 moving head")
    a_bin(name="Shelf Corvid")
    a_piece("Corvid spare")
    text = page_text(tech_page.get("/find?q=corvid"))
    for heading in ("Jobs 1", "Bins 1", "Pieces 1", "Unit models 1"):
        assert heading in text


def test_the_whole_name_of_a_bin_a_piece_a_job_or_an_order_opens_it(tech_page: PageClient) -> None:
    bin_, piece, job = a_bin(name="A-14"), a_piece("C-07"), a_job()
    a_bin(name="A-140")
    seller = suppliers.add_supplier("Quayside Spares")
    order = orders.draft_order(seller.id, [NewOrderLine(a_part().id, 2)])
    for text, path in (
        ("a-14", f"/bins/{bin_.id}"),
        ("C-07", f"/pieces/{piece.id}"),
        (job.number, f"/jobs/{job.id}"),
        (order.number, f"/orders/{order.id}"),
    ):
        assert tech_page.get("/find", query_string={"q": text}).headers["Location"] == path
    assert "Orders 1" in page_text(tech_page.get("/find?q=quayside"))


def test_a_name_that_two_things_have_is_asked_about(tech_page: PageClient) -> None:
    a_bin(name="C-07"), a_piece("C-07")
    assert "2 found for" in page_text(tech_page.get("/find?q=c-07"))


def test_the_number_of_a_part_lists_it_with_its_bin(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(3)
    text = page_text(tech_page.get("/find", query_string={"q": part.number}))
    assert f"{bin_.name} 3 pieces" in text


def test_nothing_found_says_what_to_do(tech_page: PageClient) -> None:
    page = tech_page.get("/find?q=zzz")
    assert page.status_code == 200
    assert "Nothing has “zzz”" in page_text(page)
    assert "Type fewer words" in page_text(page)


def test_an_empty_search_goes_to_the_scan_page(tech_page: PageClient) -> None:
    assert tech_page.get("/find?q=").headers["Location"] == "/scan"
    assert tech_page.get("/find").headers["Location"] == "/scan"


@pytest.mark.parametrize("text", ["<script>x</script>", "' OR 1=1 --", "%", "_", "\\", "a" * 5000])
def test_any_text_may_be_looked_for_and_comes_out_as_text(tech_page: PageClient, text: str) -> None:
    a_part("Plain header")
    page = tech_page.get("/find", query_string={"q": text})
    assert page.status_code == 200
    assert "<script>x" not in page.get_data(as_text=True)
    assert "Plain header" not in page_text(page) or text == "a"


def test_a_viewer_may_scan_and_find(viewer_page: PageClient) -> None:
    code = a_bin().code
    assert viewer_page.get("/scan").status_code == 200
    assert viewer_page.get(f"/S/{code}").status_code == 303


def test_scanning_only_reads(tech_page: PageClient) -> None:
    assert tech_page.post_form("/scan").status_code == 405
    assert tech_page.post_form("/find").status_code == 405
