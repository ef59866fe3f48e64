"""Label sizes, print offsets and printing over REST."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from flask import Flask
from PIL import Image

from inventory.store.tables import LabelSize
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_stocked_part
from tests.fake_cups import REFUSES, FakeLp, put_on_path
from tests.http_clients import ApiClient

FRONTS: dict[str, Any] = {
    "name": "Drawer fronts", "label_width": 64, "label_height": 24, "page_width": 210, "page_height": 297,
    "columns": 3, "rows": 11, "gap_x": 2.5, "gap_y": 1.5,
}  # fmt: skip


def test_a_size_is_kept_read_and_drawn_on(as_tech: ApiClient) -> None:
    response = as_tech.post(f"{API}/label-sizes", json=FRONTS)
    assert response.status_code == 201, response.text
    assert as_tech.get(response.headers["Location"]).get_json() == response.get_json()
    assert (response.get_json()["left"], response.get_json()["key"]) == (6.5, "own-1")
    codes = ",".join(a_bin().code for _ in range(4))
    drawn = as_tech.get(f"{API}/labels/sheet.pdf", query_string={"codes": codes, "media": "own-1", "start": 31})
    assert texts_of(drawn.data, 2) == {f"HTTPS://BENCH.LAN/S/{code}" for code in codes.split(",")}


def texts_of(pdf: bytes, pages: int, dpi: int = 300) -> set[str]:
    """Read every symbol of a PDF that has so many pages, by readers that are not ours."""
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) == pages
    pictures = [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]
    document.close()
    return {barcode.text for picture in pictures for barcode in zxingcpp.read_barcodes(picture)}


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"columns": 4}, "columns"), ({"label_width": "64"}, "label_width"), ({"label_height": 8}, "label_width"),
        ({"name": ""}, "name"), ({"rows": 101}, "rows"), ({"dpi": 72}, "dpi"), ({"colour": "red"}, "colour"),
        ({"active": False}, "active"), ({"label_width": None}, "label_width"), ({"gap_x": -1}, "gap_x"),
    ],
)  # fmt: skip
def test_a_size_that_cannot_be_right_is_refused(more: dict[str, Any], field: str, as_tech: ApiClient) -> None:
    assert field in checked_problem(as_tech.post(f"{API}/label-sizes", json={**FRONTS, **more}), 422)["errors"]
    assert not LabelSize.select().exists()


def test_a_size_is_edited_from_what_was_read_and_taken_out_of_use(as_tech: ApiClient) -> None:
    response = as_tech.post(f"{API}/label-sizes", json=FRONTS)
    address, tag = response.headers["Location"], response.headers["ETag"]
    checked_problem(as_tech.post(f"{API}/label-sizes", json=FRONTS), 409, "taken")
    edited = as_tech.patch(address, json={"left": None, "gap_x": 0, "active": False}, headers={"If-Match": tag})
    assert edited.get_json() == {**response.get_json(), "left": 9.0, "gap_x": 0.0, "active": False, "version": 2}
    checked_problem(as_tech.patch(address, json={"top": 5}, headers={"If-Match": tag}), 412)
    checked_problem(as_tech.patch(address, json={"rows": 99}, headers={"If-Match": "*"}), 422)
    assert as_tech.get(f"{API}/label-sizes").get_json()["items"] == []
    assert len(as_tech.get(f"{API}/label-sizes?active=false").get_json()["items"]) == 1


def test_an_offset_is_kept_replaced_and_forgotten(as_tech: ApiClient) -> None:
    response = as_tech.post(f"{API}/print-offsets", json={"size": "62x29", "right": 1.5, "down": -0.5})
    assert response.status_code == 201, response.text
    again = as_tech.post(f"{API}/print-offsets", json={"size": "62x29", "right": 1, "down": 0})
    assert again.get_json() == {**response.get_json(), "right": 1.0, "down": 0.0, "at": again.get_json()["at"]}
    assert as_tech.get(response.headers["Location"]).get_json() == again.get_json()
    assert as_tech.get(f"{API}/print-offsets?size=62x29").get_json()["items"] == [again.get_json()]
    assert as_tech.get(f"{API}/print-offsets?printer=laser").get_json()["items"] == []
    assert as_tech.delete(response.headers["Location"]).status_code == 204
    checked_problem(as_tech.get(response.headers["Location"]), 404)


@pytest.mark.parametrize(
    "sent",
    [
        {}, {"right": 1, "down": 1}, {"size": "napkin", "right": 1, "down": 1},
        {"size": "a4-3x8", "right": 11, "down": 0}, {"size": "a4-3x8", "right": "1", "down": 0},
    ],
)  # fmt: skip
def test_an_offset_that_cannot_be_right_is_refused(sent: dict[str, Any], as_tech: ApiClient) -> None:
    checked_problem(as_tech.post(f"{API}/print-offsets", json=sent), 422)


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_a_bin_s_shelf_end_is_drawn(ending: str, as_viewer: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(1)
    ends = as_viewer.get(f"{API}/bins/{bin_.id}/shelf-end.{ending}")
    usual = as_viewer.get(f"{API}/bins/{bin_.id}/label.{ending}")
    assert ends.status_code == usual.status_code == 200
    assert ends.data != usual.data
    if ending == "png":
        (symbol,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(ends.data)).convert("L"))
        assert symbol.text == f"HTTPS://BENCH.LAN/S/{bin_.code}"


def test_a_sheet_takes_shelf_ends_copies_and_dots(as_viewer: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(1)
    data = {"codes": bin_.code, "copies": "3", "shelf_ends": "true", "media": "roll-62x29", "dpi": "203"}
    shapes = as_viewer.get(f"{API}/labels/sheet.pdf", query_string=data).data
    document = pypdfium2.PdfDocument(shapes)
    text = document[0].get_textpage()
    assert part.number in text.get_text_range()
    text.close()
    document.close()
    dots = as_viewer.get(f"{API}/labels/sheet.pdf", query_string={**data, "dots": "true"}).data
    assert texts_of(shapes, 3, 203) == texts_of(dots, 3, 203) == {f"HTTPS://BENCH.LAN/S/{bin_.code}"}
    assert b"CCITTFaxDecode" in dots


# ---- printing --------------------------------------------------------------------------------------------


@pytest.fixture
def lp(app: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> FakeLp:
    """A CUPS queue, and the service on a bench whose settings name it."""
    app.config["BENCH"] = replace(app.config["BENCH"], printers="bench-roll")
    return put_on_path(tmp_path, monkeypatch)


def test_a_program_prints_once_on_a_queue_that_is_set_up(lp: FakeLp, as_tech: ApiClient) -> None:
    assert as_tech.get(f"{API}/printers").get_json()["items"] == [{"name": "bench-roll"}]
    bin_, key = a_bin(), {"Idempotency-Key": "print it"}
    as_tech.post(f"{API}/print-offsets", json={"printer": "bench-roll", "right": 0, "down": 2})
    data = {"printer": "bench-roll", "codes": [bin_.code], "media": "roll-62x29"}
    first = as_tech.post(f"{API}/labels/print", json=data, headers=key)
    assert (first.status_code, first.get_json()) == (200, {"printer": "bench-roll", "request": "bench-roll-12"})
    again = as_tech.post(f"{API}/labels/print", json=data, headers=key)
    assert (again.get_json(), again.headers["Benchproof-Repeated"], lp.times) == (first.get_json(), "true", 1)
    checked_problem(as_tech.post(f"{API}/labels/print", json={**data, "copies": 2}, headers=key), 422, "key_reused")
    (symbol,) = zxingcpp.read_barcodes(first_page(lp.document))
    (still,) = zxingcpp.read_barcodes(first_page(as_tech.get(
        f"{API}/labels/sheet.pdf", query_string={"codes": bin_.code, "media": "roll-62x29", "dots": "true"}
    ).data))  # fmt: skip
    moved = symbol.position.top_left.y - still.position.top_left.y
    assert symbol.text == f"HTTPS://BENCH.LAN/S/{bin_.code}"
    assert moved == pytest.approx(2 / 25.4 * 300, abs=1.5)


def first_page(pdf: bytes) -> Any:
    """Turn the first page of a PDF into a picture."""
    document = pypdfium2.PdfDocument(pdf)
    picture = document[0].render(scale=300 / 72).to_pil().convert("L")
    document.close()
    return picture


def test_a_print_that_is_refused_says_why_and_prints_nothing(
    lp: FakeLp, as_tech: ApiClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data, address = {"printer": "bench-roll", "codes": [a_bin().code]}, f"{API}/labels/print"
    wrong: tuple[dict[str, Any], ...] = (
        {"printer": "office-laser"},
        {"codes": ["spoon"]},
        {"codes": []},
        {"media": "napkin"},
        {"start": 99},
    )
    for one in wrong:
        checked_problem(as_tech.post(address, json={**data, **one}), 422)
    assert lp.times == 0
    put_on_path(tmp_path, monkeypatch, does=REFUSES)
    for _ in range(2):  # a program's refusal is kept under its key, as everywhere
        problem = checked_problem(
            as_tech.post(address, json=data, headers={"Idempotency-Key": "x"}), 409, "not_printed"
        )
        assert "The printer or class does not exist." in problem["detail"]
    assert lp.times == 1


def test_where_no_queue_is_set_up_there_is_none(as_viewer: ApiClient) -> None:
    assert as_viewer.get(f"{API}/printers").get_json()["items"] == []
