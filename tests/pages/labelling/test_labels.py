"""The page of labels: choosing, seeing and printing them; every one is read back here with an independent reader."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from flask import Flask
from PIL import Image

from inventory.domain.catalogue import bins, parts
from inventory.domain.common import clock, idempotency
from inventory.domain.labelling import label_sizes, print_offsets
from inventory.store.tables import IdempotencyKey
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.fake_cups import REFUSES, nothing_on_path, put_on_path
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, send_form, submit_form
from tests.proof_factories import a_piece, prove_fan

FRONTS = {
    "name": "Drawer fronts, 3 x 11", "label_width": 64, "label_height": 24, "page_width": 210, "page_height": 297,
    "columns": 3, "rows": 11, "gap_x": 2.5, "gap_y": 1.5,
}  # fmt: skip
EVIL = "<script>alert('x')</script>'; DROP TABLE bins;--"


def read_png(client: PageClient, query: str) -> str:
    """Draw a label and return what its symbol says."""
    answer = client.get(f"/labels/label.png?{query}")
    assert answer.content_type == "image/png"
    read_barcodes = zxingcpp.read_barcodes(Image.open(io.BytesIO(answer.data)).convert("L"))
    return read_barcodes[0].text if read_barcodes else ""


def test_it_draws_the_label_of_a_bin_a_lot_a_piece_and_a_job(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(5)
    piece, job = a_piece("F no. 1"), a_job()
    assert receipt.made_lot is not None
    for query, code in (
        (f"bin={bin_.id}", bin_.code),
        (f"lot={receipt.lot_ids[0]}", receipt.made_lot.code),
        (f"piece={piece.id}", piece.code),
        (f"job={job.id}", job.code),
    ):
        assert read_png(tech_page, query) == f"HTTPS://BENCH.LAN/S/{code}"


def test_it_shows_what_will_be_printed_and_links_to_the_file(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(5)
    page = tech_page.get(f"/labels?bin={bin_.id}&lot={receipt.lot_ids[0]}")
    assert "2 labels" in page_text(page)
    assert f"Bin {bin_.name}, Lot of 4-way header" in page_text(page)
    body = page.get_data(as_text=True)
    assert "/labels/labels.pdf?bin=" in body
    assert "/labels/sheet.svg?bin=" in body


def test_it_makes_a_pdf_of_as_many_sheets_as_it_takes(tech_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    answer = tech_page.get(f"/labels/labels.pdf?bin={bin_.id}&copies=30&start=20")
    assert answer.content_type == "application/pdf"
    assert answer.data.startswith(b"%PDF")
    assert answer.data.count(b"/Type /Page\n") == 3
    assert "Page 1 of 3" in page_text(tech_page.get(f"/labels?bin={bin_.id}&copies=30&start=20"))


def test_it_says_on_a_pieces_label_what_proved_it(tech_page: PageClient) -> None:
    piece = a_piece("F no. 1")
    prove_fan(piece.id)
    assert read_png(tech_page, f"piece={piece.id}") == f"HTTPS://BENCH.LAN/S/{piece.code}"


def test_it_remembers_the_paper(tech_page: PageClient) -> None:
    bin_ = a_bin()
    tech_page.get(f"/labels?bin={bin_.id}&media=roll-62x29&dpi=203")
    page = tech_page.get(f"/labels?bin={bin_.id}").get_data(as_text=True)
    assert '<option value="roll-62x29" selected>' in page
    assert '<option value="203" selected>' in page


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("media=napkin", "No label size 'napkin'"),
        ("start=99", "Position 99 is not on the sheet"),
        ("start=0&media=roll-62x29", ""),
        ("dpi=5000", "no usual printer resolution"),
        ("media=own-7", "No label size 'own-7'"),
        ("copies=101", "Print 1 to 100 copies of a label."),
        ("media=10x10", "needs at least"),
        ("copies=many", "Type a whole number"),
    ],
)
def test_it_says_why_a_sheet_cannot_be_printed(tech_page: PageClient, query: str, sentence: str) -> None:
    bin_ = a_bin()
    page = tech_page.get(f"/labels?bin={bin_.id}&{query}")
    assert page.status_code in (200, 422)
    assert sentence in page_text(page)
    pdf = tech_page.get(f"/labels/labels.pdf?bin={bin_.id}&{query}")
    assert pdf.status_code == (422 if sentence else 200)


def test_it_makes_blank_labels_that_are_put_to_use_later(tech_page: PageClient) -> None:
    page = tech_page.get("/labels")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/blank", number="24"))
    assert "24 labels" in page_text(answer)
    blanks = bins.bins(named=False, limit=50).items
    assert len(blanks) == 24
    query = f"blank={blanks[0].id}-{blanks[-1].id}"
    assert read_png(tech_page, query) == f"HTTPS://BENCH.LAN/S/{blanks[0].code}"


def test_blank_labels_fill_a_sheet_of_ones_own(tech_page: PageClient) -> None:
    size = label_sizes.add_label_size("HTTPS://BENCH.LAN", **FRONTS)
    page = tech_page.get(f"/labels?media={size.key}&bin={a_bin().id}")
    assert "300 dots an inch, as kept with this size" in page_text(page)
    form = find_form(page, "/blank")
    assert ("number", "33") in form.fields
    answer = follow_redirect(tech_page, send_form(tech_page, form))
    assert "33 labels" in page_text(answer)
    drawn = tech_page.get("/labels/sheet.svg?" + answer.request.query_string.decode()).get_data(as_text=True)
    assert drawn.count("aria-label=") == 33


@pytest.mark.parametrize("number", ["", "0", "501", "-1", "a sheet", "1.5"])
def test_it_makes_no_number_of_blank_labels_that_cannot_be_right(tech_page: PageClient, number: str) -> None:
    refused = submit_form(tech_page, tech_page.get("/labels"), "/blank", number=number)
    assert refused.status_code == 422
    assert bins.bins(named=False).items == []


def test_it_makes_blank_labels_once_when_tapped_twice(tech_page: PageClient) -> None:
    page = tech_page.get("/labels")
    submit_form(tech_page, page, "/blank", number="3")
    submit_form(tech_page, page, "/blank", number="3")
    assert len(bins.bins(named=False).items) == 3


def test_it_offers_what_often_wants_a_label(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    job = a_job()
    text = page_text(tech_page.get("/labels"))
    for words in (str(bin_.name), part.name, f"Job {job.number}"):
        assert words in text


def test_it_draws_a_label_whatever_the_name_is(tech_page: PageClient) -> None:
    for name in (EVIL, "x" * 400, "مروحة ٢٤ فولت", "Ω 4.7 kΩ ½ W", "風扇"):
        bin_ = a_bin(a_part(name))
        assert read_png(tech_page, f"bin={bin_.id}") == f"HTTPS://BENCH.LAN/S/{bin_.code}"
        page = tech_page.get(f"/labels?bin={bin_.id}")
        assert "<script>alert" not in page.get_data(as_text=True)
        assert "<script" not in tech_page.get(f"/labels/sheet.svg?bin={bin_.id}").get_data(as_text=True)


def test_it_takes_no_names_of_its_own_machinery_from_the_address(tech_page: PageClient) -> None:
    bin_ = a_bin()
    page = tech_page.get(f"/labels?bin={bin_.id}&_external=1&endpoint=x&_scheme=ftp")
    assert page.status_code == 200
    assert "ftp:" not in page.get_data(as_text=True)


def test_it_finds_nothing_that_is_not_there(tech_page: PageClient) -> None:
    for what in ("bin", "lot", "piece", "job"):
        assert tech_page.get(f"/labels?{what}=999").status_code == 404
        assert tech_page.get(f"/labels/labels.pdf?{what}=999").status_code == 404
    assert tech_page.get("/labels/label.png").status_code == 422
    assert tech_page.get("/labels/labels.pdf").status_code == 422
    assert tech_page.get("/labels?bin=shelf").status_code == 422


def test_it_lets_a_viewer_print_and_make_nothing(viewer_page: PageClient) -> None:
    bin_ = a_bin()
    assert viewer_page.get(f"/labels?bin={bin_.id}").status_code == 200
    assert viewer_page.post_form("/labels/blank", number="3").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    assert tech_page.post_form("/labels").status_code == 405
    assert tech_page.get("/labels/blank").status_code == 405


def test_it_draws_each_page_of_a_long_job(tech_page: PageClient) -> None:
    bin_ = a_bin()
    query = f"bin={bin_.id}&copies=30&start=20"
    symbols = [
        tech_page.get(f"/labels/sheet.svg?{query}&page={page}")
        .get_data(as_text=True)
        .count(f'aria-label="{bin_.code}"')
        for page in (1, 2, 3)
    ]
    assert symbols == [5, 24, 1]
    assert tech_page.get(f"/labels/sheet.svg?{query}&page=4").status_code == 422
    assert "There is no page 4: these labels fill 3." in page_text(tech_page.get(f"/labels?{query}&page=4"))


def test_it_prints_no_more_than_a_thousand_at_a_time(tech_page: PageClient) -> None:
    record = [a_bin() for _ in range(11)]
    query = "&".join(f"bin={item.id}" for item in record)
    refused = tech_page.get(f"/labels?{query}&copies=100")
    assert refused.status_code == 422
    assert "That makes 1100 labels: print at most 1000 at a time." in page_text(refused)


# ---- shelf ends ------------------------------------------------------------------------------------------


def test_it_labels_the_end_of_a_shelf_from_the_part_and_from_the_bin(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    for address in (f"/parts/{part.id}", f"/bins/{bin_.id}"):
        page = tech_page.get(address).get_data(as_text=True)
        assert f'href="/labels?shelf={bin_.id}"' in page
    answer = tech_page.get(f"/labels?shelf={bin_.id}")
    assert f"Shelf end of {part.name}" in page_text(answer)
    assert read_png(tech_page, f"shelf={bin_.id}") == f"HTTPS://BENCH.LAN/S/{bin_.code}"
    text = pdf_text(tech_page, f"shelf={bin_.id}")
    for words in (part.number, part.name.split()[0], f"Bin {bin_.name}", bin_.code[:3]):
        assert words in text


def test_a_shelf_end_of_many_parts_says_the_place(tech_page: PageClient) -> None:
    mixed = a_bin(mixed=True, note="Odds and ends")
    assert f"Shelf end {mixed.name}" in page_text(tech_page.get(f"/labels?shelf={mixed.id}"))
    assert "Odds and ends" in pdf_text(tech_page, f"shelf={mixed.id}")


def test_a_shelf_end_of_a_part_that_can_hurt_says_so(tech_page: PageClient) -> None:
    part = parts.add_part("PS-300", "Supply 300 W", "supply", hazards=["mains"])
    assert "MAINS" in pdf_text(tech_page, f"shelf={a_bin(part).id}")


def pdf_text(client: PageClient, query: str) -> str:
    """Return what the first page of a PDF says, by a reader that is not ours."""
    document = pypdfium2.PdfDocument(client.get(f"/labels/labels.pdf?{query}").data)
    page = document[0].get_textpage()
    text = str(page.get_text_range())
    page.close()
    document.close()
    return text


# ---- printing --------------------------------------------------------------------------------------------


@pytest.fixture
def with_queues(app: Flask) -> Flask:
    """The service on a bench whose settings name a queue."""
    app.config["BENCH"] = replace(app.config["BENCH"], printers="bench-roll")
    return app


@pytest.mark.usefixtures("with_queues")
def test_it_prints_on_the_queue_that_is_set_up(
    tech_page: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp = put_on_path(tmp_path, monkeypatch)
    record = [a_bin() for _ in range(3)]
    query = "&".join(f"bin={argument.id}" for argument in record) + "&media=roll-62x29"
    page = tech_page.get(f"/labels?{query}")
    assert "Print on bench-roll" in page_text(page)
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "", "print"))
    assert "bench-roll has the labels (bench-roll-12)." in page_text(answer)
    assert "3 labels" in page_text(answer)
    assert lp.given[:4] == ["-d", "bench-roll", "-t", "Labels, 3"]
    assert "media=Custom.62x29mm" in lp.given
    document = pypdfium2.PdfDocument(lp.document)
    pages = [page.render(scale=300 / 72).to_pil().convert("L") for page in document]
    document.close()
    read = [zxingcpp.read_barcodes(page)[0].text for page in pages]
    assert read == [f"HTTPS://BENCH.LAN/S/{argument.code}" for argument in record]


@pytest.mark.usefixtures("with_queues")
def test_tapped_twice_it_prints_once(tech_page: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lp = put_on_path(tmp_path, monkeypatch)
    page = tech_page.get(f"/labels?bin={a_bin().id}")
    first, answers = submit_form(tech_page, page, "", "print"), submit_form(tech_page, page, "", "print")
    assert (first.status_code, answers.status_code, lp.times) == (303, 303, 1)
    assert answers.headers["Location"] == first.headers["Location"]


@pytest.mark.usefixtures("with_queues")
def test_it_says_why_the_printer_refuses_and_the_same_button_may_be_tried_again(
    tech_page: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_on_path(tmp_path, monkeypatch, does=REFUSES)
    page = tech_page.get(f"/labels?bin={a_bin().id}")
    refused = submit_form(tech_page, page, "", "print")
    assert refused.status_code == 409
    assert "bench-roll did not take the labels: lp: The printer or class does not exist." in page_text(refused)
    lp = put_on_path(tmp_path, monkeypatch)
    assert submit_form(tech_page, page, "", "print").status_code == 303
    assert lp.times == 2


@pytest.mark.usefixtures("with_queues")
def test_a_print_over_which_the_power_went_is_said_in_plain_words_beside_a_fresh_button(
    tech_page: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp = put_on_path(tmp_path, monkeypatch)
    page = tech_page.get(f"/labels?bin={a_bin().id}")
    submit_form(tech_page, page, "", "print")
    cut_off = {
        IdempotencyKey.status: None,
        IdempotencyKey.at: clock.now() - idempotency.MAX_IN_PROGRESS,
    }  # as a dying service leaves it
    assert IdempotencyKey.update(cut_off).execute() == 1
    refused = submit_form(tech_page, page, "", "print")
    assert (refused.status_code, lp.times) == (409, 1)
    assert "look at the printer, and press again if nothing came out" in page_text(refused)
    assert submit_form(tech_page, refused, "", "print").status_code == 303
    assert lp.times == 2


@pytest.mark.usefixtures("with_queues")
def test_it_has_no_button_where_nothing_prints(
    tech_page: PageClient, viewer_page: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bin_ = a_bin()
    there = tmp_path / "there"
    there.mkdir()
    put_on_path(there, monkeypatch)
    assert "Print on" not in page_text(viewer_page.get(f"/labels?bin={bin_.id}"))
    assert viewer_page.post_form(f"/labels/print?bin={bin_.id}", printer="bench-roll").status_code == 403
    wrong = tech_page.post_form(f"/labels/print?bin={bin_.id}", printer="office-laser")
    assert "That printer is not here" in page_text(wrong)
    assert tech_page.post_form(f"/labels/print?bin={bin_.id}").status_code == 422
    nothing_on_path(tmp_path, monkeypatch)
    assert "Print on" not in page_text(tech_page.get(f"/labels?bin={bin_.id}"))
    answer = tech_page.post_form(f"/labels/print?bin={bin_.id}", printer="bench-roll")
    assert (answer.status_code, "That printer is not here" in page_text(answer)) == (422, True)


def test_it_has_no_button_where_no_queue_is_set_up(
    tech_page: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp = put_on_path(tmp_path, monkeypatch)
    assert "Print on" not in page_text(tech_page.get(f"/labels?bin={a_bin().id}"))
    assert lp.times == 0


# ---- offsets ---------------------------------------------------------------------------------------------


def test_a_print_that_is_off_is_put_right_once(tech_page: PageClient) -> None:
    page = tech_page.get(f"/labels?bin={a_bin().id}&media=a4-2x7")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "", "offset", right="1,5", down="-0.5 mm"))
    assert "Print on this size moves 1.5 mm right, 0.5 mm up from now on." in page_text(answer)
    assert "Moved 1.5 mm right, 0.5 mm up, because this size prints off by that much." in page_text(answer)
    assert print_offsets.offset_for("a4-2x7") == (1.5, -0.5)
    assert "Moved" not in page_text(tech_page.get(f"/labels?bin={a_bin().id}&media=a4-3x8"))


@pytest.mark.parametrize(
    ("right", "sentence"), [("40", "at most 10 mm each way"), ("far", "Type millimetres, such as 1.5 or -0.5.")]
)
def test_it_keeps_no_offset_that_cannot_be_right(right: str, sentence: str, tech_page: PageClient) -> None:
    refused = submit_form(tech_page, tech_page.get(f"/labels?bin={a_bin().id}"), "", "offset", right=right)
    assert refused.status_code == 422
    assert sentence in page_text(refused)
    assert ("right", right) in find_form(refused, named="offset").fields
    assert print_offsets.offsets().items == []


def test_a_viewer_keeps_no_offset(viewer_page: PageClient) -> None:
    assert viewer_page.post_form(f"/labels/offset?bin={a_bin().id}", right="1").status_code == 403
