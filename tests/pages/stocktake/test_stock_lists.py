"""The owner takes the stock in from a spreadsheet on a page, in two steps, and takes it out again."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.stocktake.stock_list_columns import COLUMN_KEYS
from inventory.domain.stocktake.stock_list_import import list_imports
from inventory.domain.stocktake.stock_list_records import StockListImportRecord
from inventory.store.tables import Lot, Part
from tests.factories import a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, send_form, submit_form

LIST = "Number;Name;Kind;Colour;Bin;Quantity\nX-1;4-way header;connector;red;A-1;12\nX-2;Fan;fan;;A-2;3\n"


def look(client: PageClient, text: str = "", file: bytes | None = None) -> TestResponse:
    """Send the first form, with pasted text or with a file."""
    fields = dict(find_form(client.get("/stock-lists"), "/look").fields)
    upload: dict[str, Any] = {**fields, "text": text}
    if file is not None:
        upload["file"] = FileStorage(io.BytesIO(file), "stock.csv")
    return post(client, "/stock-lists/look", upload)


def post(client: PageClient, address: str, sent: dict[str, Any]) -> TestResponse:
    """Send a form with a file, all of it in memory."""
    boundary, body = encode_multipart(sent)
    return client.post(address, data=body, content_type=f'multipart/form-data; boundary="{boundary}"')


def taken() -> list[StockListImportRecord]:
    return list(list_imports().items)


def test_a_list_is_looked_at_then_taken_in_and_its_labels_are_next(owner_page: PageClient) -> None:
    answer = look(owner_page, file=LIST.encode("cp1252"))
    assert "2 rows, nothing written yet" in page_text(answer)
    assert "Parts 2 new Bins 2 new Found 2 lots" in page_text(answer)
    assert Part.select().count() == 0
    result_page = follow_redirect(owner_page, submit_form(owner_page, answer, "/take", leave_out="Colour"))
    assert "Taken in: 2 rows" in page_text(result_page)
    labels = re.search(r'href="(/labels\?[^"]*)"', result_page.text)
    assert labels is not None
    sheet = owner_page.get(labels[1].replace("&amp;", "&"))
    assert sheet.text.count('name="bin"') >= 2 or "2 labels" in page_text(sheet), page_text(sheet)[:400]
    assert "2 rows" in page_text(owner_page.get("/stock-lists"))


def test_the_same_button_pressed_twice_takes_it_in_once(owner_page: PageClient) -> None:
    button = find_form(look(owner_page, LIST), "/take")
    first, second = (send_form(owner_page, button, leave_out="Colour") for _ in range(2))
    assert (first.status_code, second.status_code, first.location) == (303, 303, second.location)
    assert (len(taken()), stock_of(Part.get(Part.number == "X-1").id).on_shelf) == (1, 12)


def test_what_is_not_ticked_is_asked_for_again_with_the_list_still_there(owner_page: PageClient) -> None:
    refused = submit_form(owner_page, look(owner_page, LIST), "/take")
    assert refused.status_code == 422
    assert "Not known here: Colour." in page_text(refused)
    assert dict(find_form(refused, "/take").fields)["text"].strip() == LIST.strip()
    follow_redirect(owner_page, submit_form(owner_page, refused, "/take", leave_out="Colour"))
    second_page = look(owner_page, LIST)
    assert "Just this list was taken in" in page_text(second_page)
    assert submit_form(owner_page, second_page, "/take", leave_out="Colour").status_code == 409
    follow_redirect(owner_page, submit_form(owner_page, second_page, "/take", leave_out="Colour", on_top="1"))
    assert len(taken()) == 2


def test_what_is_wrong_is_named_by_row_and_heading_and_can_be_put_right_on_the_page(owner_page: PageClient) -> None:
    answer = look(owner_page, LIST.replace("fan;", "fun;").replace(";12", ";twelve"))
    text = page_text(answer)
    assert "2 things are wrong." in text
    assert "Row 2, Quantity 'twelve' is not a quantity, such as 12." in text
    assert "Row 3, Kind 'fun' is no kind" in text
    assert ">Take it in<" not in answer.text
    mended = owner_page.post("/stock-lists/look", data={**dict(find_form(answer, "/take").fields), "text": LIST})
    assert ">Take it in<" in mended.text
    fields = {**dict(find_form(answer, "/take").fields), "leave_out": "Colour"}
    assert owner_page.post("/stock-lists/take", data=fields).status_code == 422  # nobody gets round it
    assert taken() == []


def test_stock_that_comes_on_top_is_said_and_ticked(owner_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    answer = look(owner_page, f"number,bin,quantity\n{part.number},{bin_.name},2")
    assert "In 1 row, some is in the bin already." in page_text(answer)
    assert f"Bin {bin_.name} holds 5 pieces already: these come on top." in page_text(answer)
    follow_redirect(owner_page, submit_form(owner_page, answer, "/take", on_top="1"))
    assert stock_of(part.id).on_shelf == 7


def test_a_file_chosen_last_is_looked_at_before_it_is_taken_in(owner_page: PageClient) -> None:
    fields: dict[str, Any] = dict(find_form(look(owner_page, LIST), "/take").fields)
    fields = {
        **fields,
        "leave_out": "Colour",
        "file": FileStorage(io.BytesIO(b"number,name\nZ-1,other"), "other.csv"),
    }
    refused = post(owner_page, "/stock-lists/take", fields)
    assert (refused.status_code, "A file was chosen: look at it first." in page_text(refused)) == (422, True)
    assert taken() == []


@pytest.mark.parametrize(
    ("file", "status", "sentence"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00", 422, "That is no text: save the sheet as CSV"),
        (b"number,name\n" + b"x" * 10_000_000, 422, "The file has 10.0 MB, and 2 MB are taken: split it."),
        (b"x" * 30_000_000, 413, "larger than 12 MB"),
        (b"P-1,clip\n", 422, "The first row must name the columns"),
        (b"", 422, "There is nothing in the list"),
    ],
    ids=["picture", "10 MB", "30 MB", "no headings", "empty"],
)
def test_what_is_no_list_is_refused_in_a_sentence(
    file: bytes, status: int, sentence: str, owner_page: PageClient
) -> None:
    refused = look(owner_page, file=file)
    assert (refused.status_code, sentence in page_text(refused)) == (status, True), page_text(refused)[:300]


def test_what_somebody_typed_into_a_cell_is_shown_as_text(owner_page: PageClient) -> None:
    answer = look(
        owner_page, "number,name,<i>x</i>,bin,quantity\n<b>1</b>,<script>alert(1)</script>,,مروحة,</textarea>"
    )
    for tag in ("<b>1</b>", "<script>alert", "<i>x</i>", "</textarea>,"):
        assert tag not in answer.text
    assert "'</textarea>' is not a quantity" in page_text(answer)


def test_the_stock_goes_out_as_a_file_that_comes_in_again(owner_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    answer = owner_page.get("/stock-lists/stock.csv")
    assert answer.headers["Content-Disposition"] == "attachment; filename=stock.csv"
    assert answer.content_type == "text/csv; charset=utf-8"
    assert f"{part.number}," in answer.text
    assert f"Bin {bin_.name} holds 5 pieces already" in page_text(look(owner_page, file=answer.data))
    empty = owner_page.get("/stock-lists/empty.csv").data.decode("utf-8-sig")
    assert empty.strip().split(",") == list(COLUMN_KEYS)


def test_the_page_names_every_column(owner_page: PageClient) -> None:
    text = page_text(owner_page.get("/stock-lists"))
    assert all(key in text for key in COLUMN_KEYS)


def test_many_rows_are_taken_in_and_their_labels_come_in_portions(owner_page: PageClient) -> None:
    rows = "".join(f"N-{number},part {number},B-{number},1\n" for number in range(450))
    result_page = follow_redirect(
        owner_page, submit_form(owner_page, look(owner_page, "number,name,bin,quantity\n" + rows), "/take")
    )
    assert "Print the labels of its 450 bins, 200 at a time:" in page_text(result_page)
    assert "Labels of bins 401 to 450" in page_text(result_page)
    assert Lot.select().count() == 450


def test_an_empty_bench_leads_to_it_until_there_is_stock(owner_page: PageClient, tech_page: PageClient) -> None:
    assert 'href="/stock-lists"' in owner_page.get("/").text
    assert 'href="/stock-lists"' not in tech_page.get("/").text
    a_stocked_part(1)
    assert 'href="/stock-lists"' not in owner_page.get("/").text


def test_it_is_the_owner_s(tech_page: PageClient, viewer_page: PageClient) -> None:
    for client in (tech_page, viewer_page):
        for address in ("/stock-lists", "/stock-lists/stock.csv", "/stock-lists/empty.csv", "/stock-lists/1"):
            assert client.get(address).status_code == 403, address
        for address in ("/stock-lists/look", "/stock-lists/take"):
            assert client.post_form(address, text=LIST).status_code == 403, address


def test_a_list_there_is_not_is_a_404(owner_page: PageClient) -> None:
    assert owner_page.get("/stock-lists/7").status_code == 404
    assert owner_page.get("/stock-lists/look").status_code in (404, 405)
