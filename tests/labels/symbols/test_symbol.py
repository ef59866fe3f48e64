"""Symbols: the smallest that carries the text, in whole dots, with its light border."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels.errors import DoesNotFit, LabelError
from labels.symbols.qr_symbol import LEAST_MODULE_MM, QUIET, encode, size_symbol
from shared.codes import link

LINK = link("https://bench.lan", "B7KM4Q2XR")


def test_it_puts_a_link_of_ours_into_version_2_at_level_q() -> None:
    symbol = encode(LINK)
    assert (symbol.version, symbol.level, len(symbol.modules), symbol.side) == (2, "Q", 25, 33)


@pytest.mark.parametrize("text", [LINK.replace("BENCH", "bENCH"), LINK + "2"])
def test_one_lower_case_letter_or_one_more_character_costs_a_version(text: str) -> None:
    assert encode(text).version == 3


def test_it_takes_a_higher_level_where_that_is_free() -> None:
    assert encode("12345", "L").level == "H"
    assert encode("12345", "L").version == 1


@pytest.mark.parametrize(
    ("text", "level", "sentence"),
    [
        ("", "Q", "A symbol needs a text to carry."),
        ("A", "X", "There is no error level 'X': choose one of L, M, Q and H."),
        ("é" * 1000, "Q", "2000 bytes are more than a QR symbol holds at level Q: shorten the text."),
    ],
)
def test_it_refuses_what_no_symbol_can_carry(text: str, level: str, sentence: str) -> None:
    with pytest.raises(LabelError) as refusal:
        encode(text, level)
    assert str(refusal.value) == sentence


@pytest.mark.parametrize(
    ("dpi", "box_mm", "dots"), [(203, 37, 8), (300, 37, 13), (600, 37, 26), (203, 12, 2), (300, 12, 4)]
)
def test_it_fills_a_box_with_whole_dots(dpi: int, box_mm: float, dots: int) -> None:
    sized = size_symbol(encode(LINK), dpi=dpi, box_mm=box_mm)
    assert sized.dots == dots
    assert sized.side_dots == 33 * dots
    assert sized.side_mm <= box_mm


@pytest.mark.parametrize(("dpi", "dots"), [(203, 10), (300, 15), (600, 29)])
def test_a_reading_distance_of_30_cm_wants_a_symbol_30_mm_wide(dpi: int, dots: int) -> None:
    """Common practice, no published source: the width is at least a tenth of the reading distance."""
    sized = size_symbol(encode(LINK), dpi=dpi, distance_mm=300)
    assert sized.dots == dots
    assert sized.distance_mm >= 300 - 1


def test_it_aims_at_half_a_millimetre_a_module_when_nothing_is_said() -> None:
    assert size_symbol(encode(LINK), dpi=203).dots == 4
    assert size_symbol(encode(LINK), dpi=300).dots == 6


@pytest.mark.parametrize(
    ("dpi", "box_mm", "distance_mm", "sentence"),
    [
        (203, 8, None, "into 8.0 mm at 203 dots an inch: it needs at least 8.3 mm"),
        (300, 20, 300, "into 20.0 mm at 300 dots an inch: it needs at least 42.0 mm"),
    ],
)
def test_it_says_how_much_it_needs(dpi: int, box_mm: float, distance_mm: float | None, sentence: str) -> None:
    with pytest.raises(DoesNotFit) as refusal:
        size_symbol(encode(LINK), dpi=dpi, box_mm=box_mm, distance_mm=distance_mm)
    assert str(refusal.value) == f"A symbol of 25 modules does not fit {sentence}, light border included."
    assert size_symbol(encode(LINK), dpi=dpi, box_mm=refusal.value.needs_mm[0], distance_mm=distance_mm)


@given(
    st.text("ABCDEFGHIJ0123456789./:", min_size=1, max_size=80),
    st.sampled_from([203, 300, 600]),
    st.floats(5, 80),
)
def test_whatever_the_box_it_fits_with_its_border_or_is_refused(text: str, dpi: int, box_mm: float) -> None:
    symbol = encode(text)
    try:
        sized = size_symbol(symbol, dpi=dpi, box_mm=box_mm)
    except DoesNotFit as refusal:
        assert refusal.needs_mm[0] > box_mm - 0.1  # noqa: PT017 - both outcomes are right
        return
    assert sized.side_mm <= box_mm + 1e-6
    assert sized.module_mm >= LEAST_MODULE_MM - 0.002
    assert sized.side_dots == (len(symbol.modules) + 2 * QUIET) * sized.dots
