"""Media: the sizes offered by name, own sizes, and what makes no sense."""

from itertools import pairwise

import pytest

from labels.errors import InvalidMedia
from labels.layout.media import (
    STANDARD_MEDIA,
    LabelMedia,
    check_dpi,
    check_offset,
    check_start_position,
    find_media,
    roll_media,
    sheet_media,
)


@pytest.mark.parametrize(
    ("key", "label", "count"),
    [
        ("a4-3x8", (70, 37), 24),
        ("letter-3x10", (66.7, 25.4), 30),
        ("roll-62x29", (62, 29), 1),
        ("roll-50x30", (50, 30), 1),
        ("roll-40x12", (40, 12), 1),
    ],
)
def test_it_offers_usual_sizes_by_name(key: str, label: tuple[float, float], count: int) -> None:
    media = find_media(key)
    assert (media.label_width, media.label_height) == label
    assert media.labels_a_page == count
    assert media.is_roll == (count == 1)


@pytest.mark.parametrize("media", STANDARD_MEDIA.values(), ids=STANDARD_MEDIA)
def test_no_label_lies_off_its_sheet_or_on_another(media: LabelMedia) -> None:
    corners = [media.corner(place) for place in range(media.labels_a_page)]
    for x, y in corners:
        assert -0.01 <= x <= media.page_width - media.label_width + 0.01
        assert -0.01 <= y <= media.page_height - media.label_height + 0.01
    for corner, other in pairwise(corners):
        apart_x, apart_y = abs(corner[0] - other[0]), abs(corner[1] - other[1])
        assert apart_x >= media.label_width - 0.01 or apart_y >= media.label_height - 0.01


@pytest.mark.parametrize(("text", "size"), [("62x29", (62, 29)), (" 38.5 × 19 mm ", (38.5, 19)), ("25x50", (25, 50))])
def test_it_takes_own_roll_sizes(text: str, size: tuple[float, float]) -> None:
    media = find_media(text)
    assert (media.label_width, media.label_height) == size


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("poster", "No label size 'poster': choose one of a4-3x8, "),
        ("-5x20", "No label size '-5x20'"),
        ("1x1", "Labels and sheets are 8 to 450 mm along each side: check the sizes."),
        ("900x20", "Labels and sheets are 8 to 450 mm along each side: check the sizes."),
    ],
)
def test_it_refuses_sizes_that_make_no_sense(text: str, sentence: str) -> None:
    with pytest.raises(InvalidMedia) as refusal:
        find_media(text)
    assert str(refusal.value).startswith(sentence)


def test_it_takes_own_sheets_and_centres_them() -> None:
    media = sheet_media((210, 297), (2, 5), (90, 50), step=(95, 55))
    assert media.corner(0) == (12.5, 13.5)
    assert media.corner(9) == (107.5, 233.5)


@pytest.mark.parametrize(
    ("grid", "label", "step", "sentence"),
    [
        ((4, 8), (70.0, 37.0), None, "Labels lie off the page or on each other"),
        ((2, 2), (70.0, 37.0), (50.0, 37.0), "Labels lie off the page or on each other"),
        ((0, 8), (70.0, 37.0), None, "A sheet has 1 to 50 columns and 1 to 100 rows of labels."),
    ],
)
def test_it_refuses_sheets_that_cannot_be(
    grid: tuple[int, int], label: tuple[float, float], step: tuple[float, float] | None, sentence: str
) -> None:
    with pytest.raises(InvalidMedia, match=sentence):
        sheet_media((210, 297), grid, label, step=step)


def test_it_refuses_a_margin_that_leaves_no_label() -> None:
    with pytest.raises(InvalidMedia, match="at most a quarter of its shorter side"):
        roll_media(40, 12, margin_mm=5)


@pytest.mark.parametrize("start", [0, -1, 25])
def test_it_refuses_a_position_that_is_not_on_the_sheet(start: int) -> None:
    with pytest.raises(InvalidMedia) as refusal:
        check_start_position(STANDARD_MEDIA["a4-3x8"], start)
    assert str(refusal.value) == f"Position {start} is not on the sheet: it has 24 labels, counted from 1."


@pytest.mark.parametrize("dpi", [0, 72, 5000])
def test_it_refuses_odd_resolutions(dpi: int) -> None:
    with pytest.raises(
        InvalidMedia, match=f"{dpi} dots an inch is no usual printer resolution: choose 203, 300 or 600"
    ):
        check_dpi(dpi)


@pytest.mark.parametrize("offset", [(11.0, 0.0), (0.0, -11.0), (float("nan"), 0.0)])
def test_it_refuses_offsets_no_printer_needs(offset: tuple[float, float]) -> None:
    with pytest.raises(InvalidMedia, match="is too much: at most 10 mm each way"):
        check_offset(offset)
