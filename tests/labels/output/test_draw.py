"""Drawn labels as people get them: every symbol on every PNG, SVG and PDF is read again by independent readers."""

import io
import re
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from labels.content.label_content import LabelContent, bin_label, lot_label, shelf_end_label
from labels.content.part_content import build_part_content
from labels.errors import InvalidMedia, LabelError
from labels.graphics.shapes import Text
from labels.layout.imposition import impose, lay_out_labels
from labels.layout.label_layout import LabelLayout, lay_out
from labels.layout.media import RESOLUTIONS, STANDARD_MEDIA, LabelMedia
from labels.output import raster, raster_pdf
from labels.render import render_page_svg, render_pdf, render_png, render_svg
from labels.symbols.qr_symbol import QUIET_ZONE
from shared.codes import format_code
from tests.labels.sample_labels import ADDRESS, HEADER, all_faces, random_code

FACES = all_faces()
A4, ROLL = STANDARD_MEDIA["a4-3x8"], STANDARD_MEDIA["roll-62x29"]


def read(picture: Image.Image) -> list[str]:
    return [each.text for each in zxingcpp.read_barcodes(picture.convert("L"))]


def pages_of(pdf: bytes, dpi: int) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]
    finally:
        document.close()


@pytest.mark.parametrize("dpi", RESOLUTIONS)
@pytest.mark.parametrize("face", FACES, ids=lambda face: f"{face.tab}-{face.head}")
def test_a_png_is_one_bit_a_dot_at_true_size_and_reads(face: LabelContent, dpi: int) -> None:
    picture = Image.open(io.BytesIO(render_png(face, ROLL, dpi)))
    assert picture.mode == "1"
    assert picture.size == (int(62 * dpi / 25.4), int(29 * dpi / 25.4))
    assert picture.info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)
    assert read(picture) == [face.link]


@pytest.mark.parametrize("face", FACES, ids=lambda face: f"{face.tab}-{face.head}")
def test_an_svg_is_true_size_and_its_symbol_covers_exactly_the_dark_modules(face: LabelContent) -> None:
    root = ElementTree.fromstring(render_svg(face, ROLL, 300))
    assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(62, abs=0.1)
    assert float(root.attrib["height"].removesuffix("mm")) == pytest.approx(29, abs=0.1)
    path = next(each.attrib["d"] for each in root.iter() if each.attrib.get("shape-rendering") == "crispEdges")
    layout = lay_out(face, ROLL, 300)
    dots = layout.symbol.dots
    covered = np.zeros_like(layout.symbol.symbol.modules, dtype=int)
    left, top = layout.symbol_x + QUIET_ZONE * dots, layout.symbol_y + QUIET_ZONE * dots
    for x, y, wide, tall in re.findall(r"M(\d+) (\d+)h(\d+)v(\d+)h-\d+z", path):
        row, column = (int(y) - top) // dots, (int(x) - left) // dots
        covered[row : row + int(tall) // dots, column : column + int(wide) // dots] += 1
    assert np.array_equal(covered, layout.symbol.symbol.modules)


def test_an_svg_keeps_markup_in_names_as_words() -> None:
    face = bin_label(random_code("bin"), ADDRESS, "<b>&'\"", HEADER)
    ElementTree.fromstring(render_svg(face, ROLL))


@pytest.mark.parametrize("as_dots", [False, True], ids=["shapes", "dots"])
@pytest.mark.parametrize("key", STANDARD_MEDIA)
def test_every_label_of_a_pdf_reads(key: str, as_dots: bool) -> None:
    media, dpi = STANDARD_MEDIA[key], 300
    faces = [face for face in FACES if fits(face, media)]
    pages = pages_of(render_pdf(faces, media, dpi=dpi, as_dots=as_dots), dpi)
    assert sorted(text for page in pages for text in read(page)) == sorted(face.link for face in faces)


def fits(face: LabelContent, media: LabelMedia) -> bool:
    try:
        lay_out(face, media)
    except LabelError:
        return False
    return True


@pytest.mark.parametrize("as_dots", [False, True], ids=["shapes", "dots"])
def test_a_half_used_sheet_is_begun_where_it_was_left(as_dots: bool) -> None:
    pages = pages_of(render_pdf(FACES[:4], A4, start=23, as_dots=as_dots), 300)
    assert len(pages) == 2
    wide, tall = pages[0].width // 3, pages[0].height // 8
    assert read(pages[0].crop((wide, 7 * tall, 2 * wide, 8 * tall))) == [FACES[0].link]
    assert read(pages[0].crop((2 * wide, 7 * tall, 3 * wide, 8 * tall))) == [FACES[1].link]
    assert read(pages[1].crop((0, 0, wide, tall))) == [FACES[2].link]
    assert len(read(pages[0])) == len(read(pages[1])) == 2


def test_a_roll_has_a_page_a_label() -> None:
    assert len(pages_of(render_pdf(FACES[:3], ROLL), 203)) == 3


def test_an_offset_moves_the_print_right_and_down() -> None:
    still = first_ink(render_pdf(FACES[:1], A4))
    moved = first_ink(render_pdf(FACES[:1], A4, offset_mm=(2.54, 1.27)))
    assert (moved[0] - still[0], moved[1] - still[1]) == (30, 15)


@pytest.mark.parametrize("offset", [(-6.0, 0.0), (0.0, -8.0), (0.0, 9.0)])
def test_an_offset_never_cuts_a_symbol_off(offset: tuple[float, float]) -> None:
    with pytest.raises(InvalidMedia) as refusal:
        render_pdf(FACES[:1], ROLL, offset_mm=offset)
    name = format_code(FACES[0].code)
    sentence = f"The symbol of {name} would be cut off at the edge of the page: move the print less far."
    assert str(refusal.value) == sentence


def first_ink(pdf: bytes) -> tuple[int, int]:
    """Column and row of the first dark pixel of a PDF's first page at 300 dots an inch."""
    dark = np.asarray(pages_of(pdf, 300)[0]) < 128
    return int(np.flatnonzero(dark.any(axis=0))[0]), int(np.flatnonzero(dark.any(axis=1))[0])


@pytest.mark.parametrize(
    ("key", "dpi"),
    [("a4-3x8", 203), ("a4-3x8", 300), *((key, dpi) for key in ("roll-62x29", "roll-40x12") for dpi in RESOLUTIONS)],
)
def test_a_pdf_of_dots_darkens_dot_for_dot_what_was_proofread(key: str, dpi: int) -> None:
    """Rendered at the printer's resolution, page size included."""
    media = STANDARD_MEDIA[key]
    faces = [face for face in FACES if fits(face, media)]
    faces += faces[:2]  # copies are shared as a whole
    pages = impose(lay_out_labels(faces, media, dpi), media, dpi, offset_mm=(0.3, -0.1))
    rendered = pages_of(raster_pdf.write_pages(pages), dpi)
    assert len(rendered) == len(pages)
    for picture, page in zip(rendered, pages, strict=True):
        assert np.array_equal(np.asarray(picture), np.where(raster.draw_page(page), 255, 0))


def test_a_pdf_of_dots_cuts_off_what_an_offset_moves_over_the_edge_and_no_more() -> None:
    pages = impose(lay_out_labels(FACES[:2], ROLL), ROLL, offset_mm=(9.0, 0.0))
    for picture, page in zip(pages_of(raster_pdf.write_pages(pages), 300), pages, strict=True):
        assert np.array_equal(np.asarray(picture), np.where(raster.draw_page(page), 255, 0))
        assert not np.asarray(picture)[:, -1].all()  # the offset does move ink over the edge


def many_lots(number: int) -> list[LabelContent]:
    """Lots of like parts, as a delivery brings them: another code, day and quantity each."""
    faces = []
    for nth in range(number):
        attributes = {"pitch": 2.0, "ways": nth % 12 + 2, "gender": "header", "mounting": "through hole"}
        part = build_part_content(
            f"{nth % 12 + 2}-way 2.0 mm wire-to-board header, straight", "connector", attributes, []
        )
        faces.append(lot_label(
            random_code("lot"), ADDRESS, part, received=date(2026, 1 + nth % 12, 1 + nth % 28),
            origin="Northgate Components", quantity=f"{nth + 1} pieces", date_code="2614",
        ))  # fmt: skip
    return faces


def test_labels_as_dots_on_a_roll_take_some_two_kilobytes_each() -> None:
    """The bar for 1,000 labels is 3 MB; 1,000 of these take 1.77, and a tenth of them shares less among itself."""
    assert len(render_pdf(many_lots(100), ROLL, as_dots=True)) <= 2_300 * 100


def test_copies_of_a_label_take_next_to_nothing() -> None:
    single, ten = (len(render_pdf(FACES[:1] * copies, ROLL, as_dots=True)) for copies in (1, 10))
    assert ten < single + 10 * 700


def test_labels_that_share_nothing_take_three_kilobytes_each_at_most() -> None:
    faces = [replace(face, head=f"{face.head} {number}") for number, face in enumerate(FACES)]
    assert len(render_pdf(faces, ROLL, as_dots=True)) <= 3_000 * len(faces)


def test_a_pdf_of_dots_says_where_each_of_its_objects_begins() -> None:
    """Readers mend a wrong table silently; printers may not (ISO 32000-1, 7.5.4)."""
    pdf = render_pdf([*FACES[:3], FACES[0]], ROLL, as_dots=True)
    table = int(re.findall(rb"startxref\n(\d+)\n%%EOF", pdf)[-1])
    places = [int(each) for each in re.findall(rb"(\d{10}) 00000 n ", pdf[table:])]
    assert len(places) == pdf.count(b" 0 obj\n") > 3 + 2 * 4
    for number, place in enumerate(places, start=1):
        assert pdf[place:].startswith(b"%d 0 obj\n<<" % number)
    for head, length in re.findall(rb"(/Length (\d+)>>stream\n)", pdf):
        begin = pdf.index(head) + len(head)
        assert pdf[begin + int(length) :].startswith(b"\nendstream\nendobj")
    assert all(int(each) <= len(places) for each in re.findall(rb"(\d+) 0 R", pdf[:table]))


@pytest.mark.parametrize("dpi", RESOLUTIONS)
def test_the_shapes_of_a_pdf_darken_the_same_dots_as_the_png(dpi: int) -> None:
    """Rendered at the printer's resolution, the symbol is dot for dot what was proofread."""
    layout = lay_out(FACES[0], ROLL, dpi)
    page = np.asarray(pages_of(render_pdf(FACES[:1], ROLL, dpi=dpi), dpi)[0]) < 128
    dots = layout.symbol.dots
    expected = layout.symbol.symbol.modules.repeat(dots, axis=0).repeat(dots, axis=1)
    left, top = layout.symbol_x + QUIET_ZONE * dots, layout.symbol_y + QUIET_ZONE * dots
    shifts = [(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)]  # the page itself is rounded to a dot
    pictures = [page[top + y :, left + x :][: len(expected), : len(expected)] for x, y in shifts]
    assert any(np.array_equal(each, expected) for each in pictures)


def test_a_pdf_can_be_searched_for_a_code() -> None:
    document = pypdfium2.PdfDocument(render_pdf([FACES[0]], A4))
    page = document[0].get_textpage()
    text = page.get_text_range()
    page.close()
    document.close()
    assert FACES[0].code[:3] in text
    assert "A3-07" in text


def test_a_preview_shows_one_page_of_the_job() -> None:
    svg = render_page_svg(FACES * 3, A4, start=20, page=2)
    root = ElementTree.fromstring(svg)
    labels = [each for each in root if "aria-label" in each.attrib]
    assert len(labels) == 24
    assert labels[0].attrib["aria-label"] == FACES[5].code
    with pytest.raises(InvalidMedia, match=r"There is no page 4: these labels fill 3\."):
        render_page_svg(FACES * 3, A4, start=20, page=4)


@pytest.mark.parametrize(
    ("count", "sentence"),
    [
        (0, "There is no label to print: choose at least one."),
        (5001, "5001 labels are too many for one job: print at most 5000 at a time."),
    ],
)
def test_it_refuses_no_labels_and_too_many(count: int, sentence: str) -> None:
    with pytest.raises(LabelError) as refusal:
        render_pdf([FACES[0]] * count, A4)
    assert str(refusal.value) == sentence


def test_it_refuses_a_code_that_is_none_before_drawing() -> None:
    with pytest.raises(ValueError, match="do not agree"):
        bin_label("B2222222D", ADDRESS, "A1")


def test_a_longer_address_takes_a_larger_symbol_and_still_reads() -> None:
    face = bin_label(random_code("bin"), "https://stock.harbour-street-repair.example:8443", "A1", HEADER)
    assert lay_out(face, A4).symbol.symbol.version > 2
    assert read(Image.open(io.BytesIO(render_png(face, A4)))) == [face.link]


def test_every_mark_is_drawn_even_where_the_symbol_must_shrink_for_it() -> None:
    face = replace(FACES[5], details=("Proof: output under half load", "Serial TN12-00417", "Shelf D", "Box 4"))
    assert read(Image.open(io.BytesIO(render_png(face, STANDARD_MEDIA["roll-50x30"], 203)))) == [face.link]


def test_a_shelf_end_says_what_stands_there_larger_than_a_bin_does() -> None:
    part_code = random_code("bin")
    ends = shelf_end_label(part_code, ADDRESS, HEADER, number="H-204", place="Bin A-14")
    usual = bin_label(part_code, ADDRESS, "A-14", HEADER)
    for media in (A4, ROLL):
        sizes = [title_size(lay_out(face, media)) for face in (ends, usual)]
        assert sizes[0] > 1.2 * sizes[1]
    texts = [ink.text for ink in lay_out(ends, A4).ink if isinstance(ink, Text)]
    assert {"H-204", "4-way", "2.0 mm", "Bin A-14", format_code(part_code)} <= set(texts)


def title_size(layout: LabelLayout) -> int:
    """Dots of the letters that a part's name is set in."""
    return next(ink.size for ink in layout.ink if isinstance(ink, Text) and HEADER.name.startswith(ink.text))
