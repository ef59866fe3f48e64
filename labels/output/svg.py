"""Labels and pages of labels as SVG that needs no font: letters are drawn as outlines."""

from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

from fontTools.pens.svgPathPen import SVGPathPen  # type: ignore[import-untyped]

from labels.graphics.shapes import Box, Disc, Shape, Text
from labels.graphics.typesetting import advance_width, load_font_tables
from labels.layout.imposition import PlacedLabel, SheetPage
from labels.layout.label_layout import LabelLayout
from labels.symbols.qr_symbol import QUIET_ZONE
from labels.units import MM_PER_INCH


def write_label(layout: LabelLayout) -> str:
    """Write one label as an SVG document of its true size."""
    return _svg_document(layout.width, layout.height, layout.dpi, [PlacedLabel(layout, 0, 0)])


def write_page(sheet: SheetPage) -> str:
    """Write a page of labels as an SVG document of its true size."""
    return _svg_document(sheet.width, sheet.height, sheet.dpi, list(sheet.labels))


def _svg_document(width: int, height: int, dpi: int, labels: list[PlacedLabel]) -> str:
    letters = sorted({_glyph_id(character, ink) for placed in labels for ink in placed.layout.ink
                      if isinstance(ink, Text) for character in ink.text if not character.isspace()})  # fmt: skip
    shapes = "".join(f'<path id="{name}" d="{_glyph_outline(name)}"/>' for name in letters)
    codes = ", ".join(placed.layout.face.code for placed in labels)
    size = f'width="{width * MM_PER_INCH / dpi:.3f}mm" height="{height * MM_PER_INCH / dpi:.3f}mm"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {width} {height}" role="img">'
        f"<title>{escape(codes)}</title><defs>{shapes}</defs>"
        f'<path fill="#fff" d="M0 0h{width}v{height}h-{width}z"/>{"".join(map(_label_group, labels))}</svg>'
    )


def _label_group(placed: PlacedLabel) -> str:
    layout = placed.layout
    body = _symbol_path(layout) + "".join(map(_shape_element, layout.ink))
    move = f' transform="translate({placed.x} {placed.y})"' if placed.x or placed.y else ""
    return f"<g aria-label={quoteattr(layout.face.code)}{move}>{body}</g>"


def _symbol_path(layout: LabelLayout) -> str:
    sized = layout.symbol
    left, top, dots = layout.symbol_x + QUIET_ZONE * sized.dots, layout.symbol_y + QUIET_ZONE * sized.dots, sized.dots
    path = "".join(
        f"M{left + x * dots} {top + y * dots}h{width * dots}v{height * dots}h-{width * dots}z"
        for x, y, width, height in sized.symbol.rectangles()
    )
    return f'<path shape-rendering="crispEdges" d="{path}"/>'


def _shape_element(ink: Shape) -> str:
    fill = ' fill="#fff"' if ink.white else ""
    if isinstance(ink, Text):
        return _text_element(ink, fill)
    if isinstance(ink, Box):
        return f'<path{fill} d="M{ink.x} {ink.y}h{ink.width}v{ink.height}h-{ink.width}z"/>'
    if isinstance(ink, Disc):
        return f'<circle{fill} cx="{ink.x + 0.5}" cy="{ink.y + 0.5}" r="{ink.radius + 0.5}"/>'
    return f'<polygon{fill} points="{" ".join(f"{x},{y}" for x, y in ink.points)}"/>'


def _text_element(text: Text, fill: str) -> str:
    """Set letters as uses of their outlines, at the places where they were measured."""
    scale = text.size / _units_per_em()
    letters, x = [], 0
    for character in text.text:
        if not character.isspace():
            letters.append(f'<use href="#{_glyph_id(character, text)}" x="{x / scale:.0f}"/>')
        x += advance_width(character, text.size, text.bold)
    return f'<g{fill} transform="matrix({scale:.5f} 0 0 {-scale:.5f} {text.x} {text.base})">{"".join(letters)}</g>'


def _glyph_id(character: str, text: Text) -> str:
    return f"{'b' if text.bold else 'r'}{ord(character):x}"


@lru_cache(maxsize=4096)
def _glyph_outline(name: str) -> str:
    font = load_font_tables(name[0] == "b")
    glyphs = font.getGlyphSet()
    pen = SVGPathPen(glyphs)
    glyphs[font.getBestCmap().get(int(name[1:], 16), ".notdef")].draw(pen)
    return str(pen.getCommands())


@lru_cache(maxsize=1)
def _units_per_em() -> int:
    return int(load_font_tables(False)["head"].unitsPerEm)
