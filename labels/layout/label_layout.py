"""Arranging a face on a label: symbol, code to type, words, drawing, caution, in whole printer dots.

The symbol stands at the left (on top, when the label is tall), its light border kept free of everything.
The code to type stands under it where there is room, else first in the column.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from labels.content.label_content import LabelFace
from labels.errors import DoesNotFit
from labels.graphics.shapes import Ink, Text
from labels.graphics.typesetting import line_height, width
from labels.layout.media import Media, check_dpi, roll, to_dots, whole_dots
from labels.layout.text_column import LEAST_MM, Room, fill
from labels.symbols.qr_symbol import BEST_MODULE_MM, QUIET, SizedSymbol, encode, size_symbol
from shared.codes import grouped

_SHARE_ACROSS, _SHARE_DOWN = 0.40, 0.58
_LEAST_COLUMN_MM = 12.0
_CLEAR = 0.8  # em above a base line that no capital reaches, however its dots are rounded
_GAP_MM = 0.4  # some letters reach a little beyond the box they are set in
_CODE_MM = (3.4, 2.4)
_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Layout:
    """A label ready to draw: ink in order, the symbol with its top left corner, and what was compromised."""

    face: LabelFace
    width: int
    height: int
    dpi: int
    symbol: SizedSymbol
    symbol_x: int
    symbol_y: int
    ink: tuple[Ink, ...]
    notes: tuple[str, ...]


def lay_out(
    face: LabelFace, media: Media, dpi: int = 300, *, level: str = "Q", distance_mm: float | None = None
) -> Layout:
    """Arrange a face on one label of the media.

    `dpi` is the printer's resolution, `level` the least error level, `distance_mm` the distance from which
    it must read (default: whatever the size gives). Raises DoesNotFit when the symbol or the barest text
    finds no room.
    """
    check_dpi(dpi)
    why = f"The words do not fit beside the symbol, even in letters of {LEAST_MM} mm: the label"
    try:
        if layout := _arranged(face, media, _sizes(face, media, dpi, level, distance_mm)):
            return layout
    except DoesNotFit as small:
        why = f"{str(small).removesuffix('.')}; with its words the label"
    need = _enough(face, media, dpi, level, distance_mm)
    raise DoesNotFit(f"{why} needs at least {need[0]:g} x {need[1]:g} mm.", need)


def _arranged(face: LabelFace, media: Media, sizes: Iterable[SizedSymbol]) -> Layout | None:
    """Arrange a face with the first of the sizes of its symbol that leaves room for the words."""
    place = _beside if _is_wide(media) else _below
    return next(filter(None, (place(face, sized, media) for sized in sizes)), None)


def _is_wide(media: Media) -> bool:
    return media.label_width >= 1.25 * media.label_height


def _sizes(face: LabelFace, media: Media, dpi: int, level: str, distance_mm: float | None) -> Iterator[SizedSymbol]:
    """Size the symbol: first its due share of the label, then ever smaller to make room for words."""
    symbol = encode(face.link, level)
    across, down = media.label_width, media.label_height
    least = size_symbol(symbol, dpi=dpi, box_mm=min(across, down), distance_mm=distance_mm)
    if distance_mm is not None:
        smallest = size_symbol(symbol, dpi=dpi, distance_mm=distance_mm).dots
    else:
        smallest = min(least.dots, size_symbol(symbol, dpi=dpi, distance_mm=1).dots)
    good = BEST_MODULE_MM * symbol.side + 0.5
    if _is_wide(media):
        share = min(down, max(across * _SHARE_ACROSS, good), max(across - _LEAST_COLUMN_MM, across * 0.5))
    else:
        share = min(across, max(down * _SHARE_DOWN, good), down * 0.75)
    largest = min(least.dots, max(smallest, whole_dots(share / symbol.side, dpi)))
    return (SizedSymbol(symbol, dots, dpi) for dots in range(largest, smallest - 1, -1))


def _beside(face: LabelFace, sized: SizedSymbol, media: Media) -> Layout | None:
    """Put the words at the right of the symbol."""
    wide, tall, margin, edge = _frame(sized, media)
    side = sized.side_dots
    code_size = _code_size(face, sized, tall - margin - (edge + side))
    top = (tall - side) // 2
    if code_size:
        top = max(edge, (tall - side - line_height(code_size)) // 2 - sized.dots)
    ink = _code_under(face, edge, top, sized, code_size)
    start = edge + side + to_dots(_GAP_MM, sized.dpi)
    room = Room(start, margin, wide - margin - start, tall - 2 * margin, sized.dpi)
    return _finish(face, sized, (wide, tall), (edge, top), room, ink, with_code=not code_size)


def _below(face: LabelFace, sized: SizedSymbol, media: Media) -> Layout | None:
    """Put the words under the symbol."""
    wide, tall, margin, edge = _frame(sized, media)
    side = sized.side_dots
    start = edge + side + to_dots(_GAP_MM, sized.dpi)
    room = Room(margin, start, wide - 2 * margin, tall - margin - start, sized.dpi)
    return _finish(face, sized, (wide, tall), ((wide - side) // 2, edge), room, [], with_code=True)


def _frame(sized: SizedSymbol, media: Media) -> tuple[int, int, int, int]:
    """Give the label's width, height and margin in dots, and how near its edge the symbol begins.

    The light border of the symbol may lie in the margin: nothing is printed there.
    """
    margin = to_dots(media.margin_mm, sized.dpi)
    wide, tall = whole_dots(media.label_width, sized.dpi), whole_dots(media.label_height, sized.dpi)
    return wide, tall, margin, max(0, margin - QUIET * sized.dots)


def _finish(
    face: LabelFace,
    sized: SizedSymbol,
    size: tuple[int, int],
    corner: tuple[int, int],
    room: Room,
    ink: list[Ink],
    *,
    with_code: bool,
) -> Layout | None:
    column = fill(face, room, with_code=with_code) if min(room.width, room.height) > 0 else None
    if column is None:
        return None
    notes = _notes(sized, column.whole)
    return Layout(face, *size, sized.dpi, sized, *corner, (*ink, *column.ink), notes)


def _code_size(face: LabelFace, sized: SizedSymbol, below: int) -> int:
    """Choose letters for the code under the symbol, or 0 where they do not fit."""
    preferred, least = (round(mm * sized.dpi / _MM_PER_INCH) for mm in _CODE_MM)
    for size in range(preferred, least - 1, -1):
        if line_height(size) <= below and width(grouped(face.code), size, True) <= sized.side_dots - sized.dots:
            return size
    return 0


def _code_under(face: LabelFace, left: int, top: int, sized: SizedSymbol, size: int) -> list[Ink]:
    if not size:
        return []
    text = grouped(face.code)
    wide = width(text, size, True)
    x = left + (sized.side_dots - wide) // 2
    base = top + sized.side_dots + math.ceil(size * _CLEAR)
    return [Text(x, base, text, size, True, wide)]


def _notes(sized: SizedSymbol, whole: bool) -> tuple[str, ...]:
    notes = []
    if not whole:
        notes.append("Words were shortened to fit: a larger label says more.")
    if sized.module_mm < BEST_MODULE_MM * 0.99:
        notes.append(
            f"The squares of the symbol are {sized.module_mm:.2f} mm: hold the phone close, about "
            f"{round(sized.distance_mm / 10)} cm, or take a larger label."
        )
    return tuple(notes)


def _enough(face: LabelFace, media: Media, dpi: int, level: str, distance_mm: float | None) -> tuple[float, float]:
    """Find a size in whole mm that would do: as little more as can be, of height, of width, or of both."""
    wide, tall = math.ceil(media.label_width), math.ceil(media.label_height)
    for more in range(1, 200):
        for size in ((wide, tall + more), (wide + more, tall), (wide + more, tall + more)):
            larger = roll(*size, margin_mm=min(media.margin_mm, min(size) / 4))
            if _does(face, larger, dpi, level, distance_mm):
                return float(size[0]), float(size[1])
    return float(wide + 200), float(tall + 200)


def _does(face: LabelFace, media: Media, dpi: int, level: str, distance_mm: float | None) -> bool:
    """Tell whether a face finds room on a label of the media."""
    try:
        return _arranged(face, media, _sizes(face, media, dpi, level, distance_mm)) is not None
    except DoesNotFit:
        return False
