"""What several labels of a job have in common: the same words, the same frames and drawings, or all of it.

A page is taken apart into stamps, pictures of dark dots laid over each other. What stands on one label only is in
the one stamp of its page's own; what stands on more is one stamp for all of them. Nothing light may be laid over
something dark that way, so shapes and white letters, of which some hide others, stay together as one mark.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from labels.graphics.shapes import Shape, Text
from labels.layout.imposition import SheetPage
from labels.layout.label_layout import LabelLayout
from labels.output import raster
from labels.output.raster import Bitmap
from labels.symbols.qr_symbol import SizedSymbol


@dataclass(frozen=True, slots=True)
class Artwork:
    """All of a label but its symbol and its dark lines, in the order of drawing."""

    width: int
    height: int
    ink: tuple[Shape, ...]


Stampable = Artwork | SizedSymbol | Text
PlacedStampable = tuple[Stampable, int, int]
"""A mark with the dot that it is placed by: its top left corner, or where the base line of a text begins."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A picture, True where it is dark, whose top left dot lies at (x, y)."""

    dark: Bitmap
    x: int
    y: int


def repeated_elements(pages: Sequence[SheetPage]) -> frozenset[Stampable]:
    """Return the marks that stand on these pages more than once."""
    counts = Counter(
        mark for page in pages for placed in page.labels for mark, _, _ in _layout_elements(placed.layout)
    )
    return frozenset(mark for mark, times in counts.items() if times > 1)


def placed_repeated_elements(page: SheetPage, common: frozenset[Stampable]) -> Iterator[PlacedStampable]:
    """Yield the common marks of a page, placed on the page."""
    for label in page.labels:
        for mark, x, y in _layout_elements(label.layout):
            if mark in common:
                yield mark, label.x + x, label.y + y


def unique_stamp(page: SheetPage, common: frozenset[Stampable]) -> Stamp:
    """Draw all of a page that is not common as one stamp."""
    canvas = raster.blank_bitmap(page.width, page.height)
    for label in page.labels:
        for mark, x, y in _layout_elements(label.layout):
            if mark not in common:
                stamp = draw_stamp(mark)
                raster.darken(canvas, stamp.dark, label.x + x + stamp.x, label.y + y + stamp.y)
    return _trim(~canvas)


def draw_stamp(mark: Stampable) -> Stamp:
    """Draw a mark; the stamp lies at (x, y) from the dot that the mark is placed by."""
    if isinstance(mark, Text):
        return Stamp(*raster.text_line_bitmap(mark.text, mark.size, mark.bold))
    if isinstance(mark, SizedSymbol):
        return _trim(~raster.symbol_bitmap(mark))
    return _trim(~raster.draw_shapes(raster.blank_bitmap(mark.width, mark.height), mark.ink))


def _layout_elements(layout: LabelLayout) -> Iterator[PlacedStampable]:
    yield layout.symbol, layout.symbol_x, layout.symbol_y
    others = []
    for ink in layout.ink:
        if isinstance(ink, Text) and not ink.white:
            yield Text(0, 0, ink.text, ink.size, ink.bold, ink.width), ink.x, ink.base
        else:
            others.append(ink)
    yield Artwork(layout.width, layout.height, tuple(others)), 0, 0


def _trim(dark: Bitmap) -> Stamp:
    """Cut off what is light all around."""
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    if not len(rows):
        return Stamp(dark[:0, :0], 0, 0)
    top, left = int(rows[0]), int(columns[0])
    return Stamp(dark[top : rows[-1] + 1, left : columns[-1] + 1], left, top)
