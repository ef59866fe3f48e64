"""Arranging a face on a label: symbol, code to type, words, drawing, caution, in whole printer dots.

The symbol stands at the left (on top, when the label is tall), its light border kept free of everything.
The code to type stands under it where there is room, else first in the column.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from labels.content.label_content import LabelContent
from labels.errors import LabelTooSmall
from labels.graphics.shapes import Shape, Text
from labels.graphics.typesetting import line_height, line_width
from labels.layout.media import LabelMedia, check_dpi, roll_media
from labels.layout.text_column import MIN_LETTER_MM, ColumnArea, fit_column
from labels.symbols.qr_symbol import GOOD_MODULE_MM, QUIET_ZONE, SizedSymbol, encode_qr, size_symbol
from labels.units import dots_within, to_dots
from shared.codes import format_code

_SYMBOL_SHARE_ACROSS, _SYMBOL_SHARE_DOWN = 0.40, 0.58
_MIN_COLUMN_MM = 12.0
_CODE_BASELINE_EM = 0.8  # em above a base line that no capital reaches, however its dots are rounded
_GAP_MM = 0.4  # some letters reach a little beyond the box they are set in
_CODE_LETTER_MM = (3.4, 2.4)


@dataclass(frozen=True, slots=True)
class LabelLayout:
    """A label ready to draw: ink in order, the symbol with its top left corner, and what was compromised."""

    face: LabelContent
    width: int
    height: int
    dpi: int
    symbol: SizedSymbol
    symbol_x: int
    symbol_y: int
    ink: tuple[Shape, ...]
    notes: tuple[str, ...]


def lay_out(
    face: LabelContent, media: LabelMedia, dpi: int = 300, *, level: str = "Q", distance_mm: float | None = None
) -> LabelLayout:
    """Arrange a face on one label of the media.

    `dpi` is the printer's resolution, `level` the least error level, `distance_mm` the distance from which
    it must read (default: whatever the size gives). Raises LabelTooSmall when the symbol or the barest text
    finds no room.
    """
    check_dpi(dpi)
    sentence = f"The words do not fit beside the symbol, even in letters of {MIN_LETTER_MM} mm: the label"
    try:
        if layout := _first_fit(face, media, _symbol_sizes(face, media, dpi, level, distance_mm)):
            return layout
    except LabelTooSmall as small:
        sentence = f"{str(small).removesuffix('.')}; with its words the label"
    need = _sufficient_size(face, media, dpi, level, distance_mm)
    raise LabelTooSmall(f"{sentence} needs at least {need[0]:g} x {need[1]:g} mm.", need)


def _first_fit(face: LabelContent, media: LabelMedia, sizes: Iterable[SizedSymbol]) -> LabelLayout | None:
    """Arrange a face with the first of the sizes of its symbol that leaves room for the words."""
    place = _arrange_beside if _is_wide(media) else _arrange_below
    return next(filter(None, (place(face, sized, media) for sized in sizes)), None)


def _is_wide(media: LabelMedia) -> bool:
    return media.label_width >= 1.25 * media.label_height


def _symbol_sizes(
    face: LabelContent, media: LabelMedia, dpi: int, level: str, distance_mm: float | None
) -> Iterator[SizedSymbol]:
    """Size the symbol: first its due share of the label, then ever smaller to make room for words."""
    symbol = encode_qr(face.link, level)
    across, down = media.label_width, media.label_height
    least = size_symbol(symbol, dpi=dpi, box_mm=min(across, down), distance_mm=distance_mm)
    if distance_mm is not None:
        smallest = size_symbol(symbol, dpi=dpi, distance_mm=distance_mm).dots
    else:
        smallest = min(least.dots, size_symbol(symbol, dpi=dpi, distance_mm=1).dots)
    good = GOOD_MODULE_MM * symbol.side + 0.5
    if _is_wide(media):
        share = min(down, max(across * _SYMBOL_SHARE_ACROSS, good), max(across - _MIN_COLUMN_MM, across * 0.5))
    else:
        share = min(across, max(down * _SYMBOL_SHARE_DOWN, good), down * 0.75)
    largest = min(least.dots, max(smallest, dots_within(share / symbol.side, dpi)))
    return (SizedSymbol(symbol, dots, dpi) for dots in range(largest, smallest - 1, -1))


def _arrange_beside(face: LabelContent, sized: SizedSymbol, media: LabelMedia) -> LabelLayout | None:
    """Put the words at the right of the symbol."""
    wide, tall, margin, edge = _label_frame(sized, media)
    side = sized.side_dots
    code_size = _code_letter_size(face, sized, tall - margin - (edge + side))
    top = (tall - side) // 2
    if code_size:
        top = max(edge, (tall - side - line_height(code_size)) // 2 - sized.dots)
    ink = _code_below_symbol(face, edge, top, sized, code_size)
    start = edge + side + to_dots(_GAP_MM, sized.dpi)
    room = ColumnArea(start, margin, wide - margin - start, tall - 2 * margin, sized.dpi)
    return _build_layout(face, sized, (wide, tall), (edge, top), room, ink, with_code=not code_size)


def _arrange_below(face: LabelContent, sized: SizedSymbol, media: LabelMedia) -> LabelLayout | None:
    """Put the words under the symbol."""
    wide, tall, margin, edge = _label_frame(sized, media)
    side = sized.side_dots
    start = edge + side + to_dots(_GAP_MM, sized.dpi)
    room = ColumnArea(margin, start, wide - 2 * margin, tall - margin - start, sized.dpi)
    return _build_layout(face, sized, (wide, tall), ((wide - side) // 2, edge), room, [], with_code=True)


def _label_frame(sized: SizedSymbol, media: LabelMedia) -> tuple[int, int, int, int]:
    """Give the label's width, height and margin in dots, and how near its edge the symbol begins.

    The light border of the symbol may lie in the margin: nothing is printed there.
    """
    margin = to_dots(media.margin_mm, sized.dpi)
    wide, tall = dots_within(media.label_width, sized.dpi), dots_within(media.label_height, sized.dpi)
    return wide, tall, margin, max(0, margin - QUIET_ZONE * sized.dots)


def _build_layout(
    face: LabelContent,
    sized: SizedSymbol,
    size: tuple[int, int],
    corner: tuple[int, int],
    room: ColumnArea,
    ink: list[Shape],
    *,
    with_code: bool,
) -> LabelLayout | None:
    column = fit_column(face, room, include_code=with_code) if min(room.width, room.height) > 0 else None
    if column is None:
        return None
    notes = _layout_notes(sized, column.whole)
    return LabelLayout(face, *size, sized.dpi, sized, *corner, (*ink, *column.ink), notes)


def _code_letter_size(face: LabelContent, sized: SizedSymbol, below: int) -> int:
    """Choose letters for the code under the symbol, or 0 where they do not fit."""
    preferred, least = (to_dots(mm, sized.dpi) for mm in _CODE_LETTER_MM)
    for size in range(preferred, least - 1, -1):
        if (
            line_height(size) <= below
            and line_width(format_code(face.code), size, True) <= sized.side_dots - sized.dots
        ):
            return size
    return 0


def _code_below_symbol(face: LabelContent, left: int, top: int, sized: SizedSymbol, size: int) -> list[Shape]:
    if not size:
        return []
    text = format_code(face.code)
    wide = line_width(text, size, True)
    x = left + (sized.side_dots - wide) // 2
    base = top + sized.side_dots + math.ceil(size * _CODE_BASELINE_EM)
    return [Text(x, base, text, size, True, wide)]


def _layout_notes(sized: SizedSymbol, whole: bool) -> tuple[str, ...]:
    notes = []
    if not whole:
        notes.append("Words were shortened to fit: a larger label says more.")
    if sized.module_mm < GOOD_MODULE_MM * 0.99:
        notes.append(
            f"The squares of the symbol are {sized.module_mm:.2f} mm: hold the phone close, about "
            f"{round(sized.distance_mm / 10)} cm, or take a larger label."
        )
    return tuple(notes)


def _sufficient_size(
    face: LabelContent, media: LabelMedia, dpi: int, level: str, distance_mm: float | None
) -> tuple[float, float]:
    """Find a size in whole mm that would do: as little more as can be, of height, of width, or of both."""
    wide, tall = math.ceil(media.label_width), math.ceil(media.label_height)
    for more in range(1, 200):
        for size in ((wide, tall + more), (wide + more, tall), (wide + more, tall + more)):
            larger = roll_media(*size, margin_mm=min(media.margin_mm, min(size) / 4))
            if _does_fit(face, larger, dpi, level, distance_mm):
                return float(size[0]), float(size[1])
    return float(wide + 200), float(tall + 200)


def _does_fit(face: LabelContent, media: LabelMedia, dpi: int, level: str, distance_mm: float | None) -> bool:
    """Tell whether a face finds room on a label of the media."""
    try:
        return _first_fit(face, media, _symbol_sizes(face, media, dpi, level, distance_mm)) is not None
    except LabelTooSmall:
        return False
