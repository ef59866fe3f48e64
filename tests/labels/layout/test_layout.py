"""Layouts: nothing over the edge, nothing in the light border, the important last to go."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labels.content.label_content import LabelContent, PartContent, bin_label
from labels.errors import LabelTooSmall
from labels.graphics.shapes import Box, Disc, Polygon, Shape, Text
from labels.graphics.typesetting import MISSING_GLYPH, load_font
from labels.layout.imposition import lay_out_labels
from labels.layout.label_layout import LabelLayout, lay_out
from labels.layout.media import RESOLUTIONS, STANDARD_MEDIA, find_media, roll_media
from labels.layout.text_column import MIN_LETTER_MM
from labels.output.proofread import proofread_label
from shared.codes import format_code, generate_code
from shared.hazards import HAZARDS
from tests.labels.sample_labels import ADDRESS, FAN, HEADER, SUPPLY, all_faces, random_code

FACES = all_faces()


def reach(ink: Shape) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of one piece of ink."""
    if isinstance(ink, Text):
        left, top, right, bottom = load_font(ink.size, ink.bold).getbbox(ink.text, mode="1", anchor="ls")
        return ink.x + int(left), ink.base + int(top), ink.x + int(right), ink.base + int(bottom)
    if isinstance(ink, Box):
        return ink.x, ink.y, ink.x + ink.width, ink.y + ink.height
    if isinstance(ink, Disc):
        return ink.x - ink.radius, ink.y - ink.radius, ink.x + ink.radius, ink.y + ink.radius
    assert isinstance(ink, Polygon)
    across, down = [x for x, _ in ink.points], [y for _, y in ink.points]
    return min(across), min(down), max(across), max(down)


def assert_sound(layout: LabelLayout) -> None:
    """Everything lies on the label and off the symbol's square; letters have their minimum; the symbol reads."""
    side = layout.symbol.side_dots
    for ink in layout.ink:
        left, top, right, bottom = reach(ink)
        assert left >= 0, ink
        assert top >= 0, ink
        assert right <= layout.width, ink
        assert bottom <= layout.height, ink
        beside = left >= layout.symbol_x + side or right <= layout.symbol_x
        below = top >= layout.symbol_y + side or bottom <= layout.symbol_y
        assert beside or below, ink
        assert not isinstance(ink, Text) or ink.size >= round(MIN_LETTER_MM * layout.dpi / 25.4), ink
    assert layout.symbol_x + side <= layout.width
    assert layout.symbol_y + side <= layout.height
    proofread_label(layout)


def words(layout: LabelLayout) -> list[str]:
    return [ink.text for ink in layout.ink if isinstance(ink, Text)]


@pytest.mark.parametrize("dpi", RESOLUTIONS)
@pytest.mark.parametrize("key", STANDARD_MEDIA)
@pytest.mark.parametrize("face", FACES, ids=lambda face: f"{face.tab}-{face.head}")
def test_it_arranges_every_face_on_every_media_soundly(face: LabelContent, key: str, dpi: int) -> None:
    media = STANDARD_MEDIA[key]
    try:
        layout = lay_out(face, media, dpi)
    except LabelTooSmall as refusal:
        assert min(media.label_width, media.label_height) <= 12, refusal  # noqa: PT017
        layout = lay_out(face, roll_media(*refusal.needs_mm, margin_mm=media.margin_mm), dpi)
    assert_sound(layout)
    assert format_code(face.code) in words(layout)


texts = st.text(max_size=400) | st.text("אבגדה abc 123 ()", max_size=80) | st.text("سلام لا 42", max_size=60)


@settings(max_examples=60, deadline=None)
@given(
    head=st.text(max_size=40),
    title=texts,
    marks=st.lists(st.text(max_size=30), max_size=5),
    hazards=st.lists(st.sampled_from(sorted(HAZARDS)), max_size=4),
    size=st.tuples(st.floats(14, 120), st.floats(12, 90)),
    dpi=st.sampled_from(RESOLUTIONS),
    seed=st.integers(0, 10**6),
)
def test_whatever_is_said_on_whatever_size_it_is_sound_or_refused(
    head: str,
    title: str,
    marks: list[str],
    hazards: list[str],
    size: tuple[float, float],
    dpi: int,
    seed: int,
) -> None:
    part = PartContent(title, tuple(marks), tuple(hazards), HEADER.picture)
    face = bin_label(generate_code("bin", random.Random(seed).choice), ADDRESS, head, part)
    try:
        layout = lay_out(face, roll_media(*size), dpi)
    except LabelTooSmall as refusal:
        assert str(refusal).endswith("mm.") or str(refusal).endswith("border included.")  # noqa: PT017
        assert refusal.needs_mm[0] > size[0] - 1 or refusal.needs_mm[1] > size[1] - 1  # noqa: PT017
        return
    assert_sound(layout)


def test_a_name_of_400_characters_shrinks_then_ends_in_an_ellipsis() -> None:
    face = bin_label(random_code("bin"), ADDRESS, "A1", PartContent("Very long name " * 28))
    layout = lay_out(face, STANDARD_MEDIA["roll-62x29"], 203)
    assert_sound(layout)
    assert any(text.endswith("…") for text in words(layout))
    assert layout.notes == ("Words were shortened to fit: a larger label says more.",)


def test_a_short_name_is_not_shortened() -> None:
    layout = lay_out(bin_label(random_code("bin"), ADDRESS, "A1", HEADER), STANDARD_MEDIA["a4-3x8"])
    assert layout.notes == ()
    assert not any("…" in text for text in words(layout))


@pytest.mark.parametrize("key", STANDARD_MEDIA)
def test_a_4_way_and_a_5_way_never_look_alike(key: str) -> None:
    five = replace(HEADER, marks=("5-way", "2.5 mm"))
    four_way = lay_out(bin_label(random_code("bin"), ADDRESS, "A1", HEADER), STANDARD_MEDIA[key])
    other = lay_out(bin_label(random_code("bin"), ADDRESS, "A1", five), STANDARD_MEDIA[key])
    assert any("4-way" in text for text in words(four_way))
    assert any("2.0 mm" in text for text in words(four_way))
    assert any("5-way" in text for text in words(other))
    assert any("2.5 mm" in text for text in words(other))


@pytest.mark.parametrize("key", STANDARD_MEDIA)
def test_the_caution_of_a_mains_part_is_on_every_size(key: str) -> None:
    layout = lay_out(bin_label(random_code("bin"), ADDRESS, "S1", SUPPLY), STANDARD_MEDIA[key])
    assert any("MAINS" in text for text in words(layout))


def test_a_proved_piece_says_what_was_proved_when_and_until_when() -> None:
    piece = next(face for face in FACES if face.head.startswith("PROVED"))
    text = " ".join(words(lay_out(piece, STANDARD_MEDIA["a4-3x8"])))
    assert "PROVED until 3 Apr 2027" in text
    assert "Output under half load" in text
    assert "3 Oct 2026" in text


def test_a_lot_says_where_it_came_from_and_when() -> None:
    lot = next(face for face in FACES if face.tab == "LOT")
    text = " ".join(words(lay_out(lot, STANDARD_MEDIA["a4-3x8"])))
    for expected in ("12 Nov 2026", "Northgate Components", "6 pieces", "NG-88121", "2631"):
        assert expected in text


def test_a_right_to_left_name_ends_at_the_right_edge_in_drawing_order() -> None:
    face = bin_label(random_code("bin"), ADDRESS, "D9", PartContent("מחבר זכר"))
    layout = lay_out(face, STANDARD_MEDIA["roll-62x29"])
    line = next(ink for ink in layout.ink if isinstance(ink, Text) and "ר" in ink.text)
    assert line.text == "רכז רבחמ"
    assert line.x + line.width > layout.width - layout.dpi * 1.1 / 25.4


def test_a_character_the_font_lacks_shows_as_an_open_square() -> None:
    face = bin_label(random_code("bin"), ADDRESS, "D9", PartContent("端子 4P"))
    assert any(
        f"{MISSING_GLYPH}{MISSING_GLYPH} 4P" in text for text in words(lay_out(face, STANDARD_MEDIA["roll-62x29"]))
    )


@pytest.mark.parametrize(
    ("size", "sentence"),
    [
        (
            "8x8",
            r"A symbol of 25 modules does not fit into 8\.0 mm at 203 dots an inch: it needs at least 8\.3 mm, light "
            r"border included; with its words the label needs at least \d+ x \d+ mm\.",
        ),
        ("9x9", r"The words do not fit beside the symbol, .*: the label needs at least \d+ x \d+ mm\."),
    ],
)
def test_it_says_what_a_label_too_small_would_need(size: str, sentence: str) -> None:
    face = bin_label(random_code("bin"), ADDRESS, "A3-07", FAN)
    with pytest.raises(LabelTooSmall, match=sentence) as refusal:
        lay_out(face, find_media(size), 203)
    wide, tall = refusal.value.needs_mm
    assert_sound(lay_out(face, roll_media(wide, tall), 203))


def test_of_several_labels_it_names_the_one_that_does_not_fit() -> None:
    few, many = bin_label(random_code("bin"), ADDRESS, "A1"), bin_label(random_code("bin"), ADDRESS, "A3-07", FAN)
    media = find_media("60x9")
    assert_sound(lay_out(few, media))
    with pytest.raises(LabelTooSmall) as refusal:
        lay_out_labels([few, many], media)
    assert str(refusal.value).startswith(f"Label {format_code(many.code)} (A3-07): The words do not fit")


def test_a_reading_distance_makes_the_symbol_large_enough_or_is_refused() -> None:
    """Common practice, no published source: a tenth of the distance."""
    face = bin_label(random_code("bin"), ADDRESS, "A3-07")
    layout = lay_out(face, roll_media(100, 60), 300, distance_mm=300)
    assert layout.symbol.distance_mm >= 300
    with pytest.raises(LabelTooSmall, match="it needs at least"):
        lay_out(face, STANDARD_MEDIA["roll-62x29"], 300, distance_mm=300)


def test_small_squares_come_with_a_word_of_advice() -> None:
    layout = lay_out(bin_label(random_code("bin"), ADDRESS, "A1"), STANDARD_MEDIA["roll-40x12"], 203)
    assert layout.notes == (
        "The squares of the symbol are 0.25 mm: hold the phone close, about 6 cm, or take a larger label.",
    )


@pytest.mark.parametrize("level", "LMQH")
def test_it_keeps_the_wanted_error_level(level: str) -> None:
    layout = lay_out(bin_label(random_code("bin"), ADDRESS, "A1"), STANDARD_MEDIA["a4-3x8"], level=level)
    assert "LMQH".index(layout.symbol.symbol.level) >= "LMQH".index(level)
    assert_sound(layout)
