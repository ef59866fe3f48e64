"""Sheets and rolls of the shop's own: kept when labels lie on them and scan; print is moved to meet them."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale
from inventory.domain.labelling import label_content, label_sizes, print_offsets
from inventory.domain.labelling.label_sheet import LabelSheet, label_sheet
from tests.factories import a_bin, a_part, a_person

pytestmark = pytest.mark.usefixtures("bench")
ADDRESS = "HTTPS://BENCH.LAN"
FRONTS: dict[str, Any] = {
    "name": "Drawer fronts, 3 x 11", "label_width": 64.0, "label_height": 24.0, "page_width": 210.0,
    "page_height": 297.0, "columns": 3, "rows": 11, "gap_x": 2.5, "gap_y": 1.5,
}  # fmt: skip
DPI = 300


def fronts(**more: Any) -> label_sizes.LabelSizeRecord:
    return label_sizes.add_label_size(ADDRESS, **{**FRONTS, **more})


def test_it_keeps_a_sheet_and_centres_its_labels() -> None:
    size = fronts()
    assert (size.left, size.top, size.margin, size.dpi) == (6.5, 9.0, 1.5, 300)
    assert size.media.labels_a_page == 33
    assert size.media.corner(32) == (6.5 + 2 * 66.5, 9.0 + 10 * 25.5)
    assert label_sizes.resolve_size(size.key).media == size.media


def test_a_size_without_a_sheet_is_a_roll() -> None:
    size = label_sizes.add_label_size(ADDRESS, name="Spool, 57 x 32", label_width=57.0, label_height=32, dpi=203)
    assert size.media.is_roll
    assert (size.page_width, size.page_height, size.left, size.margin) == (57.0, 32.0, 0.0, 1.0)
    assert label_sizes.resolve_size(size.key).dpi == 203


@pytest.mark.parametrize(
    ("more", "field", "sentence"),
    [
        ({"name": " "}, "name", "The name is missing: type one."),
        (
            {"columns": 4},
            "columns",
            "The labels lie off the page: 0 mm to the first and 263.5 mm for 4 across are more",
        ),
        (
            {"rows": 12},
            "rows",
            "The labels lie off the page: 0 mm to the first and 304.5 mm for 12 down are more than",
        ),
        (
            {"left": 14.0},
            "columns",
            "The labels lie off the page: 14 mm to the first and 197 mm for 3 across are more",
        ),
        (
            {"label_width": None},
            "label_width",
            "The width of a label is 1 to 450 mm: measure it, and type millimetres.",
        ),
        ({"label_width": float("nan")}, "label_width", "The width of a label is 1 to 450 mm"),
        ({"gap_x": -1}, "gap_x", "The gap between columns is 0 to 100 mm"),
        ({"columns": 0}, "columns", "The number of columns is a whole number from 1 to 50."),
        ({"rows": True}, "rows", "The number of rows is a whole number from 1 to 100."),
        ({"margin": 7}, "margin", "The edge kept free on a label is 0 to 6 mm"),
        ({"dpi": 72}, "dpi", "The printer's dots an inch are 203, 300, 600 or another from 150 to 1200."),
        ({"dpi": "fine"}, "dpi", "The printer's dots an inch are 203, 300, 600"),
        ({"page_width": 900}, "page_width", "The width of the sheet is 1 to 450 mm"),
        ({"label_height": 7.5}, "label_width", "Labels and sheets are 8 to 450 mm along each side"),
        ({"colour": "red"}, "colour", "A label size has no colour: leave it out."),
    ],
)
def test_it_refuses_measures_that_cannot_be_right(more: dict[str, Any], field: str, sentence: str) -> None:
    with pytest.raises(Invalid) as refusal:
        fronts(**more)
    assert refusal.value.sentence.startswith(sentence)
    assert set(refusal.value.errors) == {field}
    assert label_sizes.list_label_sizes(active=None).items == []


def test_it_refuses_labels_too_small_for_the_smallest_symbol() -> None:
    """A version 2 symbol and its border are 33 modules; at 0.25 mm each that is 8.4 mm on a 300 dpi printer."""
    with pytest.raises(Invalid, match=r"^Too small for a label that scans: a symbol of 25 modules does not "):
        fronts(label_height=8.0)
    with pytest.raises(Invalid, match=r"^Too small for a label that scans: "):
        fronts(label_width=12.0, label_height=12.0)


def test_a_name_is_one_size_s_and_an_edit_holds_to_what_was_read() -> None:
    size, other = fronts(), fronts(name="Other")
    with pytest.raises(Conflict, match="There is a label size Drawer fronts, 3 x 11 already"):
        fronts()
    with pytest.raises(Conflict):
        label_sizes.edit_label_size(other.id, ADDRESS, name=size.name)
    changed = label_sizes.edit_label_size(size.id, ADDRESS, 1, left=5.0)
    assert (changed.left, changed.version) == (5.0, 2)
    with pytest.raises(Stale):
        label_sizes.edit_label_size(size.id, ADDRESS, 1, left=6.0)
    with pytest.raises(Invalid):
        label_sizes.edit_label_size(size.id, ADDRESS, 2, columns=4)
    with pytest.raises(NotFound):
        label_sizes.get_label_size(999)


def test_a_size_no_longer_used_leaves_the_lists_and_still_prints() -> None:
    size = fronts()
    assert (size.key, size.name) in label_sizes.size_choices()
    label_sizes.edit_label_size(size.id, ADDRESS, active=False)
    assert (size.key, size.name) not in label_sizes.size_choices()
    assert label_sizes.list_label_sizes().items == []
    assert label_sheet([("bin", a_bin().id)], ADDRESS, media=size.key).pdf().startswith(b"%PDF")


@pytest.mark.parametrize("key", ["own-1", "own-0", "own-99999999999", "napkin", "own-"])
def test_it_chooses_no_size_there_is_not(key: str) -> None:
    with pytest.raises(Invalid, match=rf"^No label size '{key}': choose one of a4-3x8, "):
        label_sizes.resolve_size(key)


MM = st.floats(8, 90).map(lambda one: round(one, 1))


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    label=st.tuples(MM, MM), grid=st.tuples(st.integers(1, 5), st.integers(1, 8)),
    gap=st.tuples(st.floats(0, 8), st.floats(0, 8)), dpi=st.sampled_from((203, 300)),
)  # fmt: skip
def test_whatever_is_kept_lies_on_its_page_and_scans(
    label: tuple[float, float], grid: tuple[int, int], gap: tuple[float, float], dpi: int
) -> None:
    try:
        size = label_sizes.add_label_size(
            ADDRESS,
            name=f"size {len(label_sizes.list_label_sizes(active=None, limit=200).items)}",
            label_width=label[0],
            label_height=label[1],
            page_width=210.0,
            page_height=297.0,
            columns=grid[0],
            rows=grid[1],
            gap_x=gap[0],
            gap_y=gap[1],
            dpi=dpi,
        )
    except Invalid:
        return
    media, last = size.media, size.media.labels_a_page
    x, y = media.corner(last - 1)
    assert x + media.label_width <= media.page_width + 0.02
    assert y + media.label_height <= media.page_height + 0.02
    ((_, key),) = label_content.create_blank_labels(1)
    sheet = label_sheet([("bin", key)], ADDRESS, media=size.key, start=last)
    (barcode,) = zxingcpp.read_barcodes(page_of(sheet, dpi))
    assert barcode.text == sheet.labels[0].face.link


def page_of(sheet: LabelSheet, dpi: int, number: int = 0) -> Image.Image:
    """Turn a page of the printed PDF into a picture, by a reader that is not ours."""
    document = pypdfium2.PdfDocument(io.BytesIO(sheet.pdf(as_dots=True)))
    try:
        drawn: Image.Image = document[number].render(scale=dpi / 72).to_pil().convert("L")
        return drawn
    finally:
        document.close()


def middle(symbol: Any) -> tuple[float, float]:
    """The middle of a symbol in mm from the top left of its page."""
    position = symbol.position
    corners = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    return sum(corner.x for corner in corners) / 4 * 25.4 / DPI, sum(corner.y for corner in corners) / 4 * 25.4 / DPI


def test_blank_bin_labels_fill_a_half_used_sheet_of_ones_own_where_its_labels_are() -> None:
    size = fronts()
    things = label_content.create_blank_labels(33)
    sheet = label_sheet(things, ADDRESS, media=size.key, start=30)
    assert sheet.pages == 2
    places = [(0, 29), (0, 30), (0, 31), (0, 32), *((1, place) for place in range(29))]
    expected = {label.face.link: place for label, place in zip(sheet.labels, places, strict=True)}
    centres = {}
    for number in (0, 1):
        for symbol in zxingcpp.read_barcodes(page_of(sheet, DPI, number)):
            x, y = middle(symbol)
            column, row = int((x - size.left) // 66.5), int((y - size.top) // 25.5)
            assert 0 < x - size.left - column * 66.5 < size.label_width
            assert 0 < y - size.top - row * 25.5 < size.label_height
            centres[symbol.text] = (number, row * 3 + column)
    assert centres == expected


# ---- offsets ---------------------------------------------------------------------------------------------


def test_an_offset_is_kept_and_moves_every_print_of_its_size() -> None:
    size, bin_ = fronts(), a_bin(a_part())
    before = first_ink(label_sheet([("bin", bin_.id)], ADDRESS, media=size.key))
    offset = print_offsets.save_offset(size.key, 2.54, -1.27, by=a_person(name="ines").id)
    assert (offset.size, offset.printer, offset.person) == (size.key, "", "ines")
    after = first_ink(label_sheet([("bin", bin_.id)], ADDRESS, media=size.key))
    assert (after[0] - before[0], after[1] - before[1]) == (30, -15)
    assert label_sheet([("bin", bin_.id)], ADDRESS, media="a4-3x8").offset == (0.0, 0.0)
    print_offsets.delete_offset(offset.id)
    assert label_sheet([("bin", bin_.id)], ADDRESS, media=size.key).offset == (0.0, 0.0)


def first_ink(sheet: LabelSheet) -> tuple[int, int]:
    """Column and row of the first dark dot of a sheet."""
    dark = np.asarray(page_of(sheet, DPI)) < 128
    return int(np.flatnonzero(dark.any(axis=0))[0]), int(np.flatnonzero(dark.any(axis=1))[0])


def test_a_size_in_a_printer_goes_before_the_printer_and_that_before_the_size() -> None:
    moved = print_offsets.offset_for
    print_offsets.save_offset("a4-3x8", 1, 1)
    assert moved("a4-3x8") == moved("a4-3x8", "laser") == (1, 1)
    print_offsets.save_offset("", 2, 2, printer="laser")
    assert (moved("a4-3x8"), moved("a4-3x8", "laser"), moved("62x29", "laser")) == ((1, 1), (2, 2), (2, 2))
    print_offsets.save_offset("a4-3x8", 0, 0, printer="laser")
    assert (moved("a4-3x8", "laser"), moved("a4-2x7", "laser"), moved("a4-2x7")) == ((0, 0), (2, 2), (0, 0))


def test_a_size_measured_again_is_put_right_once() -> None:
    first = print_offsets.save_offset("62 x 29", 1, 1)
    again = print_offsets.save_offset("62x29 mm", -0.5, 0.004)
    assert (again.id, again.size, again.right, again.down) == (first.id, "62x29", -0.5, 0.0)
    assert [offset.id for offset in print_offsets.offsets(size="62x29").items] == [first.id]
    assert print_offsets.offsets(printer="laser").items == []


@pytest.mark.parametrize(
    ("offset", "sentence"),
    [
        (("a4-3x8", 10.5, 0), "An offset of 10.5 and 0 mm is too much: at most 10 mm each way."),
        (("a4-3x8", float("nan"), 0), "An offset of nan and 0 mm is too much"),
        (("a4-3x8", "1", 0), "An offset is millimetres, such as 1.5 or -0.5: measure it with a ruler."),
        (("", 1, 1), "Say which size or which printer is off: choose one."),
        (("napkin", 1, 1), "No label size 'napkin'"),
    ],
)
def test_it_keeps_no_offset_that_cannot_be_right(offset: tuple[Any, Any, Any], sentence: str) -> None:
    with pytest.raises(Invalid) as refusal:
        print_offsets.save_offset(*offset)
    assert refusal.value.sentence.startswith(sentence)
    assert print_offsets.offsets().items == []


def test_an_offset_that_would_cut_a_symbol_off_prints_nothing() -> None:
    print_offsets.save_offset("roll-40x12", -3, 0)
    with pytest.raises(Invalid, match="would be cut off at the edge of the page: move the print less far"):
        label_sheet([("bin", a_bin().id)], ADDRESS, media="roll-40x12").pdf()


def test_it_prints_no_more_copies_than_anybody_wants() -> None:
    for copies in (0, 101):
        with pytest.raises(Invalid, match="Print 1 to 100 copies of a label"):
            label_sheet([("bin", a_bin().id)], ADDRESS, copies=copies)
