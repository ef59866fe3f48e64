"""Imposition: which label goes where on which page, in whole printer dots."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from labels.content.label_content import LabelFace
from labels.errors import BadMedia, DoesNotFit, LabelError
from labels.layout.label_layout import Layout, lay_out
from labels.layout.media import Media, check_dpi, check_offset, check_start, to_dots
from labels.symbols.qr_symbol import QUIET
from shared.codes import grouped

MOST_LABELS = 5000
"""Labels in one job: more is a slip of the finger, and a stack of paper."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A label with the dot of its top left corner on the page."""

    layout: Layout
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Page:
    """One page to print, its size in dots."""

    width: int
    height: int
    dpi: int
    labels: tuple[Placed, ...]


def lay_out_all(
    faces: Sequence[LabelFace], media: Media, dpi: int = 300, *, level: str = "Q", distance_mm: float | None = None
) -> list[Layout]:
    """Arrange faces on labels of the media; raise LabelError for none or more than MOST_LABELS.

    DoesNotFit names the label, where it is one of several.
    """
    if not faces:
        raise LabelError("There is no label to print: choose at least one.")
    if len(faces) > MOST_LABELS:
        raise LabelError(f"{len(faces)} labels are too many for one job: print at most {MOST_LABELS} at a time.")
    return [_laid_out(face, media, dpi, level, distance_mm, alone=len(faces) == 1) for face in faces]


def _laid_out(
    face: LabelFace, media: Media, dpi: int, level: str, distance_mm: float | None, *, alone: bool
) -> Layout:
    try:
        return lay_out(face, media, dpi, level=level, distance_mm=distance_mm)
    except DoesNotFit as small:
        if alone:
            raise
        head = f" ({face.head})" if face.head else ""
        raise DoesNotFit(f"Label {grouped(face.code)}{head}: {small}", small.needs_mm) from None


def impose(
    layouts: Iterable[Layout],
    media: Media,
    dpi: int = 300,
    *,
    start: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
) -> list[Page]:
    """Place labels row by row from position `start` (from 1) of the first sheet, moved right and down by an
    offset.

    Raises BadMedia for a position that is not on the sheet, for an offset beyond 10 mm, and for one that pushes a
    symbol over the edge of the page.
    """
    check_offset(offset_mm)
    first = check_start(media, start) - 1
    size = (to_dots(media.page_width, check_dpi(dpi)), to_dots(media.page_height, dpi))
    pages: list[list[Placed]] = []
    for place, layout in enumerate(layouts, start=first):
        page, on_page = divmod(place, media.labels_a_page)
        if page == len(pages):
            pages.append([])
        left, top = media.corner(on_page)
        placed = Placed(layout, to_dots(left + offset_mm[0], dpi), to_dots(top + offset_mm[1], dpi))
        _check_on_page(placed, size)
        pages[page].append(placed)
    return [Page(*size, dpi, tuple(labels)) for labels in pages]


def _check_on_page(placed: Placed, size: tuple[int, int]) -> None:
    """Refuse to cut off a symbol; words and its light border may lie where nothing can be printed."""
    sized = placed.layout.symbol
    border, side = QUIET * sized.dots, len(sized.symbol.modules) * sized.dots
    corner = (placed.x + placed.layout.symbol_x + border, placed.y + placed.layout.symbol_y + border)
    if not all(begin >= 0 and begin + side <= end for begin, end in zip(corner, size, strict=True)):
        raise BadMedia(
            f"The symbol of {grouped(placed.layout.face.code)} would be cut off at the edge of the page: "
            "move the print less far."
        )
