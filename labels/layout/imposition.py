"""Imposition: which label goes where on which page, in whole printer dots."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from labels.content.label_content import LabelContent
from labels.errors import InvalidMedia, LabelError, LabelTooSmall
from labels.layout.label_layout import LabelLayout, lay_out
from labels.layout.media import LabelMedia, check_dpi, check_offset, check_start_position
from labels.symbols.qr_symbol import QUIET_ZONE
from labels.units import to_dots
from shared.codes import format_code

MAX_LABELS = 5000
"""Labels in one job: more is a slip of the finger, and a stack of paper."""


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """A label with the dot of its top left corner on the page."""

    layout: LabelLayout
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One page to print, its size in dots."""

    width: int
    height: int
    dpi: int
    labels: tuple[PlacedLabel, ...]


def lay_out_labels(
    faces: Sequence[LabelContent],
    media: LabelMedia,
    dpi: int = 300,
    *,
    level: str = "Q",
    distance_mm: float | None = None,
) -> list[LabelLayout]:
    """Arrange faces on labels of the media; raise LabelError for none or more than MAX_LABELS.

    LabelTooSmall names the label, where it is one of several.
    """
    if not faces:
        raise LabelError("There is no label to print: choose at least one.")
    if len(faces) > MAX_LABELS:
        raise LabelError(f"{len(faces)} labels are too many for one job: print at most {MAX_LABELS} at a time.")
    return [_lay_out_named(face, media, dpi, level, distance_mm, alone=len(faces) == 1) for face in faces]


def _lay_out_named(
    face: LabelContent, media: LabelMedia, dpi: int, level: str, distance_mm: float | None, *, alone: bool
) -> LabelLayout:
    try:
        return lay_out(face, media, dpi, level=level, distance_mm=distance_mm)
    except LabelTooSmall as small:
        if alone:
            raise
        head = f" ({face.head})" if face.head else ""
        raise LabelTooSmall(f"Label {format_code(face.code)}{head}: {small}", small.needs_mm) from None


def impose(
    layouts: Iterable[LabelLayout],
    media: LabelMedia,
    dpi: int = 300,
    *,
    start: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
) -> list[SheetPage]:
    """Place labels row by row from position `start` (from 1) of the first sheet, moved right and down by an
    offset.

    Raises InvalidMedia for a position that is not on the sheet, for an offset beyond 10 mm, and for one that pushes a
    symbol over the edge of the page.
    """
    check_offset(offset_mm)
    first = check_start_position(media, start) - 1
    size = (to_dots(media.page_width, check_dpi(dpi)), to_dots(media.page_height, dpi))
    pages: list[list[PlacedLabel]] = []
    for place, layout in enumerate(layouts, start=first):
        page, on_page = divmod(place, media.labels_a_page)
        if page == len(pages):
            pages.append([])
        left, top = media.corner(on_page)
        placed = PlacedLabel(layout, to_dots(left + offset_mm[0], dpi), to_dots(top + offset_mm[1], dpi))
        _check_on_page(placed, size)
        pages[page].append(placed)
    return [SheetPage(*size, dpi, tuple(labels)) for labels in pages]


def _check_on_page(placed: PlacedLabel, size: tuple[int, int]) -> None:
    """Refuse to cut off a symbol; words and its light border may lie where nothing can be printed."""
    sized = placed.layout.symbol
    border, side = QUIET_ZONE * sized.dots, len(sized.symbol.modules) * sized.dots
    corner = (placed.x + placed.layout.symbol_x + border, placed.y + placed.layout.symbol_y + border)
    if not all(begin >= 0 and begin + side <= end for begin, end in zip(corner, size, strict=True)):
        raise InvalidMedia(
            f"The symbol of {format_code(placed.layout.face.code)} would be cut off at the edge of the page: "
            "move the print less far."
        )
