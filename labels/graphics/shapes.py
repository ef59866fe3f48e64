"""What a label is drawn from: a handful of shapes in whole printer dots, origin at the top left.

A layout makes them, a writer (raster, PDF, SVG) draws them in order and knows nothing else.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Box:
    """A filled rectangle, black or white."""

    x: int
    y: int
    width: int
    height: int
    white: bool = False


@dataclass(frozen=True, slots=True)
class Disc:
    """A filled circle around (x, y), black or white."""

    x: int
    y: int
    radius: int
    white: bool = False


@dataclass(frozen=True, slots=True)
class Polygon:
    """A filled area between points, black or white."""

    points: tuple[tuple[int, int], ...]
    white: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """One line on a base line, `width` dots wide, its characters in the order in which they are drawn."""

    x: int
    base: int
    text: str
    size: int
    bold: bool
    width: int
    white: bool = False


Ink = Box | Disc | Polygon | Text


def frame(x: int, y: int, width: int, height: int, thick: int) -> list[Ink]:
    """Draw the outline of a rectangle with lines `thick` dots wide that lie within it."""
    return [Box(x, y, width, height), Box(x + thick, y + thick, width - 2 * thick, height - 2 * thick, white=True)]


def ring(x: int, y: int, radius: int, thick: int) -> list[Ink]:
    """Draw the outline of a circle with a line `thick` dots wide that lies within it."""
    return [Disc(x, y, radius), Disc(x, y, radius - thick, white=True)]
