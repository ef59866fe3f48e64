"""The page of labels: choosing, seeing and printing them; every one is read back here with an independent reader."""

from __future__ import annotations

import io

import pytest
import zxingcpp
from PIL import Image

from inventory.stock import bins
from tests.clients import PageClient
from tests.making import a_bin, a_job, a_part, stocked
from tests.making_proof import a_piece, run_fan
from tests.pages.browsing import follow, submit, words

EVIL = "<script>alert('x')</script>'; DROP TABLE bins;--"


def read_png(client: PageClient, query: str) -> str:
    """Draw a label and return what its symbol says."""
    answer = client.get(f"/labels/label.png?{query}")
    assert answer.content_type == "image/png"
    found = zxingcpp.read_barcodes(Image.open(io.BytesIO(answer.data)).convert("L"))
    return found[0].text if found else ""


def test_it_draws_the_label_of_a_bin_a_lot_a_piece_and_a_job(tech_page: PageClient) -> None:
    _, bin_, done = stocked(5)
    piece, job = a_piece("F no. 1"), a_job()
    assert done.made_lot is not None
    for query, code in (
        (f"bin={bin_.id}", bin_.code),
        (f"lot={done.lot_ids[0]}", done.made_lot.code),
        (f"piece={piece.id}", piece.code),
        (f"job={job.id}", job.code),
    ):
        assert read_png(tech_page, query) == f"HTTPS://BENCH.LAN/S/{code}"


def test_it_shows_what_will_be_printed_and_links_to_the_file(tech_page: PageClient) -> None:
    _, bin_, done = stocked(5)
    page = tech_page.get(f"/labels?bin={bin_.id}&lot={done.lot_ids[0]}")
    assert "2 labels" in words(page)
    assert f"Bin {bin_.name}, Lot of 4-way header" in words(page)
    body = page.get_data(as_text=True)
    assert "/labels/labels.pdf?bin=" in body
    assert "/labels/sheet.svg?bin=" in body


def test_it_makes_a_pdf_of_as_many_sheets_as_it_takes(tech_page: PageClient) -> None:
    _, bin_, _ = stocked(5)
    answer = tech_page.get(f"/labels/labels.pdf?bin={bin_.id}&copies=30&start=20")
    assert answer.content_type == "application/pdf"
    assert answer.data.startswith(b"%PDF")
    assert answer.data.count(b"/Type /Page\n") == 3
    assert "Page 1 of 3" in words(tech_page.get(f"/labels?bin={bin_.id}&copies=30&start=20"))


def test_it_says_on_a_pieces_label_what_proved_it(tech_page: PageClient) -> None:
    piece = a_piece("F no. 1")
    run_fan(piece.id)
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
        ("right=40", "at most 10 mm each way"),
        ("right=far", "Type millimetres"),
        ("media=10x10", "needs at least"),
        ("copies=many", "Type a whole number"),
    ],
)
def test_it_says_why_a_sheet_cannot_be_printed(tech_page: PageClient, query: str, sentence: str) -> None:
    bin_ = a_bin()
    page = tech_page.get(f"/labels?bin={bin_.id}&{query}")
    assert page.status_code in (200, 422)
    assert sentence in words(page)
    pdf = tech_page.get(f"/labels/labels.pdf?bin={bin_.id}&{query}")
    assert pdf.status_code == (422 if sentence else 200)


def test_it_makes_blank_labels_that_are_put_to_use_later(tech_page: PageClient) -> None:
    page = tech_page.get("/labels")
    seen = follow(tech_page, submit(tech_page, page, "/blank", number="24"))
    assert "24 labels" in words(seen)
    made = bins.bins(named=False, limit=50).items
    assert len(made) == 24
    query = f"blank={made[0].id}-{made[-1].id}"
    assert read_png(tech_page, query) == f"HTTPS://BENCH.LAN/S/{made[0].code}"


@pytest.mark.parametrize("number", ["", "0", "501", "-1", "a sheet", "1.5"])
def test_it_makes_no_number_of_blank_labels_that_cannot_be_right(tech_page: PageClient, number: str) -> None:
    refused = submit(tech_page, tech_page.get("/labels"), "/blank", number=number)
    assert refused.status_code == 422
    assert bins.bins(named=False).items == []


def test_it_makes_blank_labels_once_when_tapped_twice(tech_page: PageClient) -> None:
    page = tech_page.get("/labels")
    submit(tech_page, page, "/blank", number="3")
    submit(tech_page, page, "/blank", number="3")
    assert len(bins.bins(named=False).items) == 3


def test_it_offers_what_often_wants_a_label(tech_page: PageClient) -> None:
    part, bin_, _ = stocked(5)
    job = a_job()
    seen = words(tech_page.get("/labels"))
    for one in (str(bin_.name), part.name, f"Job {job.number}"):
        assert one in seen


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
    assert "There is no page 4: these labels fill 3." in words(tech_page.get(f"/labels?{query}&page=4"))


def test_it_prints_no_more_than_a_thousand_at_a_time(tech_page: PageClient) -> None:
    made = [a_bin() for _ in range(11)]
    query = "&".join(f"bin={one.id}" for one in made)
    refused = tech_page.get(f"/labels?{query}&copies=100")
    assert refused.status_code == 422
    assert "That makes 1100 labels: print at most 1000 at a time." in words(refused)
