"""What several labels of a job have in common: the same words, the same frames and drawings, or all of it.

A page is taken apart into stamps, pictures of dark dots laid over each other. What stands on one label only is in
the one stamp of its page's own; what stands on more is one stamp for all of them. Nothing light may be laid over
something dark that way, so shapes and white letters, of which some hide others, stay together as one piece.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from labels import raster
from labels.ink import Ink, Text
from labels.layout import Layout
from labels.raster import Dots
from labels.sheet import Page
from labels.symbol import SizedSymbol


@dataclass(frozen=True, slots=True)
class Shapes:
    """All of a label but its symbol and its dark lines, in the order of drawing."""

    width: int
    height: int
    ink: tuple[Ink, ...]


Piece = Shapes | SizedSymbol | Text
Placed = tuple[Piece, int, int]
"""A piece with the dot that it is placed by: its top left corner, or where the base line of a text begins."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A picture, True where it is dark, whose top left dot lies at (x, y)."""

    dark: Dots
    x: int
    y: int


def shared(pages: Sequence[Page]) -> frozenset[Piece]:
    """Return the pieces that stand on these pages more than once."""
    found = Counter(piece for page in pages for placed in page.labels for piece, _, _ in _pieces(placed.layout))
    return frozenset(piece for piece, times in found.items() if times > 1)


def shared_of(page: Page, common: frozenset[Piece]) -> Iterator[Placed]:
    """Yield the common pieces of a page, placed on the page."""
    for label in page.labels:
        for piece, x, y in _pieces(label.layout):
            if piece in common:
                yield piece, label.x + x, label.y + y


def own_of(page: Page, common: frozenset[Piece]) -> Stamp:
    """Draw all of a page that is not common as one stamp."""
    canvas = raster.blank(page.width, page.height)
    for label in page.labels:
        for piece, x, y in _pieces(label.layout):
            if piece not in common:
                stamp = drawn(piece)
                raster.add_dark(canvas, stamp.dark, label.x + x + stamp.x, label.y + y + stamp.y)
    return _trimmed(~canvas)


def drawn(piece: Piece) -> Stamp:
    """Draw a piece; the stamp lies at (x, y) from the dot that the piece is placed by."""
    if isinstance(piece, Text):
        return Stamp(*raster.line(piece.text, piece.size, piece.bold))
    if isinstance(piece, SizedSymbol):
        return _trimmed(~raster.symbol_dots(piece))
    return _trimmed(~raster.draw_ink(raster.blank(piece.width, piece.height), piece.ink))


def _pieces(layout: Layout) -> Iterator[Placed]:
    yield layout.symbol, layout.symbol_x, layout.symbol_y
    others = []
    for ink in layout.ink:
        if isinstance(ink, Text) and not ink.white:
            yield Text(0, 0, ink.text, ink.size, ink.bold, ink.width), ink.x, ink.base
        else:
            others.append(ink)
    yield Shapes(layout.width, layout.height, tuple(others)), 0, 0


def _trimmed(dark: Dots) -> Stamp:
    """Cut off what is light all around."""
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    if not len(rows):
        return Stamp(dark[:0, :0], 0, 0)
    top, left = int(rows[0]), int(columns[0])
    return Stamp(dark[top : rows[-1] + 1, left : columns[-1] + 1], left, top)
