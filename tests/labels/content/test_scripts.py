"""Scripts that run from right to left, in the order and shape in which they are drawn."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels.graphics.shapes import Text
from labels.graphics.text_shaping import runs_right_to_left, visual
from labels.graphics.typesetting import MISSING, clean, shorten, width, wrap
from labels.layout.blocks import Paragraph


@pytest.mark.parametrize(
    ("text", "drawn"),
    [
        ("Header 2.0 mm", "Header 2.0 mm"),
        ("מחבר", "רבחמ"),
        ("מחבר 4 (2.0 mm)", ")mm 2.0( 4 רבחמ"),
        ("סוג A-12", "A-12 גוס"),
    ],
)
def test_it_orders_a_line_as_it_is_drawn(text: str, drawn: str) -> None:
    """Unicode Standard Annex 9, rules L2 and L4: levels reversed, brackets mirrored."""
    assert visual(text) == drawn


@pytest.mark.parametrize(
    ("word", "forms"),
    [
        ("سلام", "\ufeb3\ufefc\ufee1"),  # seen initial, lam-alef final, meem isolated
        ("لا", "\ufefb"),  # lam-alef isolated
        ("باب", "\ufe91\ufe8e\ufe8f"),  # beh initial, alef final, beh isolated
        ("ببب", "\ufe91\ufe92\ufe90"),  # initial, medial, final
        ("ب", "\ufe8f"),
    ],
)
def test_arabic_letters_take_the_form_their_neighbours_ask_for(word: str, forms: str) -> None:
    """Forms by Unicode Arabic Presentation Forms-B (block FE70)."""
    assert visual(word) == forms[::-1]


@pytest.mark.parametrize(
    ("text", "begins_right"),
    [
        ("מחבר זוויתי USB-C עם נעילה 2.0 mm", True),
        ("USB-C מחבר זוויתי עם נעילה כפולה", False),
        ("24 V مروحة تبريد FAN-60 بديل", False),  # V is the first letter with a direction, digits have none
        ("24 مروحة تبريد FAN-60 V", True),
        ("Header 2.0 mm, straight", False),
    ],
)
def test_every_line_of_a_name_begins_where_the_name_does(text: str, begins_right: bool) -> None:
    """Unicode Standard Annex 9, rules P2 and P3 on the paragraph, L1 and L2 on each line."""
    wide = max(width(word, 20, True) for word in text.split())
    lines = wrap(clean(text), 20, True, wide, 20)
    assert lines is not None
    assert len(lines.lines) > 2
    inks = [ink for ink in Paragraph(lines).ink(100, 0, wide + 50) if isinstance(ink, Text)]
    assert {ink.x == 100 for ink in inks} == {not begins_right}
    assert {ink.x + ink.width == 150 + wide for ink in inks} == {begins_right}
    assert shorten(clean(text), 20, True, wide, 2).right_to_left is begins_right


def test_a_line_that_begins_in_latin_is_ordered_by_the_name_it_belongs_to() -> None:
    assert visual("FAN-60 מחבר") == "FAN-60 רבחמ"
    assert visual("FAN-60 מחבר", right_to_left=True) == "רבחמ FAN-60"
    assert visual("FAN-60…", right_to_left=True) == "…FAN-60"


def test_it_knows_where_a_line_begins() -> None:
    assert runs_right_to_left("מחבר A")
    assert not runs_right_to_left("A מחבר")
    assert not runs_right_to_left("12")


def test_it_cleans_what_cannot_be_printed() -> None:
    assert clean(" two\n\tlines\x00\u202e ") == "two lines"
    assert clean("e\u0301") == "é"
    assert clean("漢 ok") == f"{MISSING} ok"


lines_of = st.text(st.characters(codec="utf-8"), min_size=1, max_size=120)


@given(lines_of, st.integers(8, 60), st.integers(20, 500), st.integers(1, 6))
def test_wrapped_lines_are_never_too_wide_and_lose_no_letter(text: str, size: int, room: int, most: int) -> None:
    words = clean(text)
    lines = wrap(words, size, False, room, most)
    if lines is not None:
        assert len(lines.lines) <= most
        assert all(width(line, size, False) <= room for line in lines.lines)
        assert "".join(lines.lines).replace(" ", "") == words.replace(" ", "")


@given(lines_of, st.integers(8, 60), st.integers(5, 500), st.integers(1, 4))
def test_shortened_lines_are_never_too_wide_and_say_so(text: str, size: int, room: int, most: int) -> None:
    lines = shorten(clean(text), size, True, room, most)
    assert len(lines.lines) <= most
    assert all(width(line, size, True) <= room for line in lines.lines)
    assert lines.whole or not lines.lines or lines.lines[-1].endswith("…")


def test_a_number_stays_with_its_unit() -> None:
    lines = wrap("Isopropyl alcohol 99.9 %, 250 ml", 20, False, width("Isopropyl alcohol 99.9", 20, False), 3)
    assert lines is not None
    assert lines.lines == ("Isopropyl alcohol", "99.9 %, 250 ml")
