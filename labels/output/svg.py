"""Labels and pages of labels as SVG that needs no font: letters are drawn as outlines."""

from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

from fontTools.pens.svgPathPen import SVGPathPen  # type: ignore[import-untyped]

from labels.graphics.shapes import Box, Disc, Ink, Text
from labels.graphics.typesetting import advance, outlines
from labels.layout.imposition import Page, Placed
from labels.layout.label_layout import Layout
from labels.symbols.qr_symbol import QUIET

_MM_PER_INCH = 25.4


def label(layout: Layout) -> str:
    """Write one label as an SVG document of its true size."""
    return _document(layout.width, layout.height, layout.dpi, [Placed(layout, 0, 0)])


def page(sheet: Page) -> str:
    """Write a page of labels as an SVG document of its true size."""
    return _document(sheet.width, sheet.height, sheet.dpi, list(sheet.labels))


def _document(width: int, height: int, dpi: int, labels: list[Placed]) -> str:
    letters = sorted({_letter_id(each, ink) for placed in labels for ink in placed.layout.ink
                      if isinstance(ink, Text) for each in ink.text if not each.isspace()})  # fmt: skip
    shapes = "".join(f'<path id="{name}" d="{_outline(name)}"/>' for name in letters)
    said = ", ".join(placed.layout.face.code for placed in labels)
    size = f'width="{width * _MM_PER_INCH / dpi:.3f}mm" height="{height * _MM_PER_INCH / dpi:.3f}mm"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {width} {height}" role="img">'
        f"<title>{escape(said)}</title><defs>{shapes}</defs>"
        f'<path fill="#fff" d="M0 0h{width}v{height}h-{width}z"/>{"".join(map(_label, labels))}</svg>'
    )


def _label(placed: Placed) -> str:
    layout = placed.layout
    body = _symbol(layout) + "".join(map(_ink, layout.ink))
    move = f' transform="translate({placed.x} {placed.y})"' if placed.x or placed.y else ""
    return f"<g aria-label={quoteattr(layout.face.code)}{move}>{body}</g>"


def _symbol(layout: Layout) -> str:
    sized = layout.symbol
    left, top, dots = layout.symbol_x + QUIET * sized.dots, layout.symbol_y + QUIET * sized.dots, sized.dots
    path = "".join(
        f"M{left + x * dots} {top + y * dots}h{width * dots}v{height * dots}h-{width * dots}z"
        for x, y, width, height in sized.symbol.rectangles()
    )
    return f'<path shape-rendering="crispEdges" d="{path}"/>'


def _ink(ink: Ink) -> str:
    fill = ' fill="#fff"' if ink.white else ""
    if isinstance(ink, Text):
        return _text(ink, fill)
    if isinstance(ink, Box):
        return f'<path{fill} d="M{ink.x} {ink.y}h{ink.width}v{ink.height}h-{ink.width}z"/>'
    if isinstance(ink, Disc):
        return f'<circle{fill} cx="{ink.x + 0.5}" cy="{ink.y + 0.5}" r="{ink.radius + 0.5}"/>'
    return f'<polygon{fill} points="{" ".join(f"{x},{y}" for x, y in ink.points)}"/>'


def _text(text: Text, fill: str) -> str:
    """Set letters as uses of their outlines, at the places where they were measured."""
    scale = text.size / _units_per_em()
    letters, x = [], 0
    for character in text.text:
        if not character.isspace():
            letters.append(f'<use href="#{_letter_id(character, text)}" x="{x / scale:.0f}"/>')
        x += advance(character, text.size, text.bold)
    return f'<g{fill} transform="matrix({scale:.5f} 0 0 {-scale:.5f} {text.x} {text.base})">{"".join(letters)}</g>'


def _letter_id(character: str, text: Text) -> str:
    return f"{'b' if text.bold else 'r'}{ord(character):x}"


@lru_cache(maxsize=4096)
def _outline(name: str) -> str:
    font = outlines(name[0] == "b")
    glyphs = font.getGlyphSet()
    pen = SVGPathPen(glyphs)
    glyphs[font.getBestCmap().get(int(name[1:], 16), ".notdef")].draw(pen)
    return str(pen.getCommands())


@lru_cache(maxsize=1)
def _units_per_em() -> int:
    return int(outlines(False)["head"].unitsPerEm)
