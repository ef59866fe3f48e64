"""Arranging a face on a label: symbol, code to type, words, drawing, caution, in whole printer dots.

The symbol stands at the left (on top, when the label is tall), its light border kept free of everything.
The code to type stands under it where there is room, else first in the column.
"""

from dataclasses import dataclass

from labels.column import LEAST_MM, Room, fill, least_height
from labels.errors import DoesNotFit
from labels.face import LabelFace
from labels.ink import Ink, Text
from labels.lettering import ASCENT, line_height, width
from labels.media import Media, check_dpi, to_dots, whole_dots
from labels.symbol import BEST_MODULE_MM, LEAST_MODULE_MM, QUIET, SizedSymbol, encode, size_symbol
from shared.codes import grouped

_SHARE_ACROSS, _SHARE_DOWN = 0.40, 0.58
_LEAST_COLUMN_MM = 12.0
_GAP_MM = 0.4  # some letters reach a little to the left of where they begin
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
    width_dots = whole_dots(media.label_width, check_dpi(dpi))
    height_dots = whole_dots(media.label_height, dpi)
    sized = _size(face, media, dpi, level, distance_mm)
    margin = to_dots(media.margin_mm, dpi)
    hang = min(margin, QUIET * sized.dots)  # the light border may lie in the margin: nothing is printed there
    if _is_wide(media):
        return _beside(face, sized, width_dots, height_dots, margin, margin - hang)
    return _below(face, sized, width_dots, height_dots, margin, margin - hang)


def _is_wide(media: Media) -> bool:
    return media.label_width >= 1.25 * media.label_height


def _size(face: LabelFace, media: Media, dpi: int, level: str, distance_mm: float | None) -> SizedSymbol:
    symbol = encode(face.link, level)
    across, down = media.label_width, media.label_height
    good = BEST_MODULE_MM * symbol.side + 0.5
    if _is_wide(media):
        box = min(down, max(across * _SHARE_ACROSS, good), max(across - _LEAST_COLUMN_MM, across * 0.5))
    else:
        box = min(across, max(down * _SHARE_DOWN, good), down * 0.75)
    if distance_mm is not None or box < LEAST_MODULE_MM * symbol.side:
        box = min(across, down)
    return size_symbol(symbol, dpi=dpi, box_mm=box, distance_mm=distance_mm)


def _beside(face: LabelFace, sized: SizedSymbol, wide: int, tall: int, margin: int, edge: int) -> Layout:
    """Put the words at the right of the symbol."""
    side = sized.side_dots
    code_size = _code_size(face, sized, tall - margin - (edge + side))
    block = side + (line_height(code_size) if code_size else 0)
    top = edge if code_size else (tall - side) // 2
    if code_size:
        top = max(edge, (tall - block) // 2 - sized.dots)
    left = edge
    ink = _code_under(face, left, top, sized, code_size)
    start = left + side + to_dots(_GAP_MM, sized.dpi)
    room = Room(start, margin, wide - margin - start, tall - 2 * margin, sized.dpi)
    return _finish(face, sized, (wide, tall), (left, top), room, ink, with_code=not code_size)


def _below(face: LabelFace, sized: SizedSymbol, wide: int, tall: int, margin: int, edge: int) -> Layout:
    """Put the words under the symbol."""
    left, top, side = (wide - sized.side_dots) // 2, edge, sized.side_dots
    room = Room(margin, top + side, wide - 2 * margin, tall - margin - top - side, sized.dpi)
    return _finish(face, sized, (wide, tall), (left, top), room, [], with_code=True)


def _finish(
    face: LabelFace,
    sized: SizedSymbol,
    size: tuple[int, int],
    corner: tuple[int, int],
    room: Room,
    ink: list[Ink],
    *,
    with_code: bool,
) -> Layout:
    column = fill(face, room, with_code=with_code) if min(room.width, room.height) > 0 else None
    if column is None:
        raise _too_small(face, sized, size, room, with_code)
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
    return [Text(x, top + sized.side_dots + round(size * ASCENT), text, size, True, wide)]


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


def _too_small(face: LabelFace, sized: SizedSymbol, size: tuple[int, int], room: Room, with_code: bool) -> DoesNotFit:
    """Say how large the label must be for the symbol as sized and the barest words beside it."""
    a_mm = _MM_PER_INCH / sized.dpi
    roomy = Room(0, 0, max(room.width, room.dots(24)), room.height, sized.dpi)
    extra_x = max(0, roomy.width - room.width)
    extra_y = max(0, least_height(face, roomy, with_code=with_code) - room.height)
    need = (round((size[0] + extra_x) * a_mm + 0.5), round((size[1] + extra_y) * a_mm + 0.5))
    return DoesNotFit(
        f"The words do not fit beside the symbol, even at {LEAST_MM} mm: the label needs at least "
        f"{need[0]} x {need[1]} mm.",
        need,
    )
