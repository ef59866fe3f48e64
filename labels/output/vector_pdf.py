"""Pages of labels as PDF of shapes and letters; `raster_pdf` writes the very dots of the printer."""

import math
from collections.abc import Sequence
from functools import lru_cache

from fpdf import FPDF
from fpdf.enums import RenderStyle

from labels.graphics.shapes import Box, Disc, Polygon, Shape, Text
from labels.graphics.typesetting import FONT_FILES, load_font
from labels.layout.imposition import PlacedLabel, SheetPage
from labels.symbols.qr_symbol import QUIET_ZONE
from labels.units import POINTS_PER_INCH

_FONT_FAMILY = "label"
_INSET_POINTS = 0.01
"""Taken off each side of a dark rectangle: PDF darkens every dot that a shape touches (ISO 32000-1, 10.6.5), so an
edge that rounding moves a hair over a dot's border would make it a dot wider. Too little to see."""


def write_pages(pages: Sequence[SheetPage], title: str = "Labels") -> bytes:
    """Write pages as vector PDF whose text can be searched; every edge of a symbol lies on a printer dot."""
    first = pages[0]
    dot = POINTS_PER_INCH / first.dpi
    document = FPDF(unit=dot, format=(_round_down_points(first.width, dot), _round_down_points(first.height, dot)))
    document.set_title(title)
    document.set_creator("Benchproof")
    document.set_auto_page_break(False)
    document.set_margin(0)
    document.add_font(_FONT_FAMILY, "", FONT_FILES[False])
    document.add_font(_FONT_FAMILY, "B", FONT_FILES[True])
    for page in pages:
        document.add_page()
        for placed in page.labels:
            _draw_label(document, placed)
    return bytes(document.output())


def _round_down_points(length: int, dot: float) -> float:
    """Round a page's side down to a hundredth of a point, so that no reader makes it a dot longer."""
    return math.floor(length * dot * 100 + 1e-6) / 100 / dot


def _draw_label(document: FPDF, placed: PlacedLabel) -> None:
    layout, sized = placed.layout, placed.layout.symbol
    left = placed.x + layout.symbol_x + QUIET_ZONE * sized.dots
    top = placed.y + layout.symbol_y + QUIET_ZONE * sized.dots
    document.set_fill_color(0)
    inset, dots = _INSET_POINTS / document.k, sized.dots
    for x, y, width, height in sized.symbol.rectangles():
        document.rect(
            left + x * dots + inset,
            top + y * dots + inset,
            width * dots - 2 * inset,
            height * dots - 2 * inset,
            style=RenderStyle.F,
        )
    for ink in layout.ink:
        _draw_shape(document, ink, placed.x, placed.y)


def _draw_shape(document: FPDF, ink: Shape, x: int, y: int) -> None:
    shade = 255 if ink.white else 0
    if isinstance(ink, Text):
        _draw_text(document, ink, x, y, shade)
        return
    document.set_fill_color(shade)
    if isinstance(ink, Box):
        document.rect(x + ink.x, y + ink.y, ink.width, ink.height, style=RenderStyle.F)
    elif isinstance(ink, Disc):
        document.circle(x + ink.x + 0.5, y + ink.y + 0.5, ink.radius + 0.5, style=RenderStyle.F)
    elif isinstance(ink, Polygon):
        document.polygon([(x + px, y + py) for px, py in ink.points], style=RenderStyle.F)


def _draw_text(document: FPDF, text: Text, x: int, y: int, shade: int) -> None:
    """Set a line exactly as wide as it was measured."""
    if not text.text.strip():
        return
    document.set_font(_FONT_FAMILY, "B" if text.bold else "", text.size * POINTS_PER_INCH / _dpi(document))
    natural = _natural_width(text.text, text.bold) * text.size
    document.set_stretching(round(100 * text.width / natural, 2) if natural else 100)
    document.set_text_color(shade)
    document.text(x + text.x, y + text.base, text.text)


def _dpi(document: FPDF) -> float:
    return POINTS_PER_INCH / document.k


@lru_cache(maxsize=8192)
def _natural_width(text: str, bold: bool) -> float:
    """Width of a line in em, by the font's own advances, which are those a PDF reader uses."""
    size = 1000
    return sum(_advance_in_em(character, bold) for character in text) / size


@lru_cache(maxsize=4096)
def _advance_in_em(character: str, bold: bool) -> float:
    return load_font(1000, bold).getlength(character)
