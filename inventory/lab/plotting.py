"""Draws plain shapes: lines, marks and words, written as SVG or as PNG. What is drawn is for others to lay out."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from PIL import Image, ImageDraw, ImageFont

from labels.graphics.typesetting import FONT_FILES

Point = tuple[float, float]
SCALE = 2  # pixels of the PNG to one unit of the drawing
FONT_FAMILY = "'DejaVu Sans Condensed', system-ui, 'Segoe UI', Roboto, sans-serif"


@dataclass(frozen=True)
class PlotLine:
    """A line through points. dash: lengths of stroke and gap, empty for none."""

    points: tuple[Point, ...]
    colour: str
    width: float = 1.0
    dash: tuple[float, float] | None = None


@dataclass(frozen=True)
class PlotMark:
    """A filled mark: disc, square, diamond, triangle or cross."""

    at: Point
    shape: str
    colour: str
    size: float = 4.0


@dataclass(frozen=True)
class PlotText:
    """A line of text; anchor: start, middle or end."""

    at: Point
    text: str
    size: float = 13.0
    anchor: str = "start"
    colour: str = "#1d2a2f"
    bold: bool = False


@dataclass(frozen=True)
class Drawing:
    """Shapes on a field of so many units, and what they show in a sentence."""

    width: int
    height: int
    told: str
    shapes: tuple[PlotLine | PlotMark | PlotText, ...]


def outline(mark: PlotMark) -> tuple[Point, ...]:
    """Return the corners of a mark; none for a disc, two strokes one after the other for a cross."""
    (x, y), r = mark.at, mark.size
    corners: dict[str, tuple[Point, ...]] = {
        "square": ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)),
        "diamond": ((x, y - 1.3 * r), (x + 1.3 * r, y), (x, y + 1.3 * r), (x - 1.3 * r, y)),
        "triangle": ((x, y - 1.3 * r), (x + 1.2 * r, y + r), (x - 1.2 * r, y + r)),
        "cross": ((x - r, y - r), (x + r, y + r), (x - r, y + r), (x + r, y - r)),
    }
    return corners.get(mark.shape, ())


# ---- SVG -------------------------------------------------------------------------------------------------


def as_svg(drawing: Drawing) -> bytes:
    """Write a drawing as a self-contained SVG file."""
    size = f'viewBox="0 0 {drawing.width} {drawing.height}" width="{drawing.width}" height="{drawing.height}"'
    body = "\n".join(_svg_shape(shape) for shape in drawing.shapes)
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" font-family="{FONT_FAMILY}">\n'
        f"<title>{escape(drawing.told)}</title>\n"
        f'<rect width="{drawing.width}" height="{drawing.height}" fill="#fffdf6"/>\n{body}\n</svg>\n'
    )
    return text.encode()


def _svg_shape(shape: PlotLine | PlotMark | PlotText) -> str:
    if isinstance(shape, PlotText):
        bold = ' font-weight="bold"' if shape.bold else ""
        return (
            f'<text x="{shape.at[0]:g}" y="{shape.at[1]:g}" font-size="{shape.size:g}" text-anchor="{shape.anchor}" '
            f'fill="{shape.colour}"{bold}>{escape(shape.text)}</text>'
        )
    if isinstance(shape, PlotLine):
        dash = f' stroke-dasharray="{shape.dash[0]:g} {shape.dash[1]:g}"' if shape.dash else ""
        return (
            f'<polyline points="{_point_list(shape.points)}" fill="none" stroke="{shape.colour}" '
            f'stroke-width="{shape.width:g}" stroke-linejoin="round"{dash}/>'
        )
    if shape.shape == "disc":
        return f'<circle cx="{shape.at[0]:g}" cy="{shape.at[1]:g}" r="{shape.size:g}" fill="{shape.colour}"/>'
    corners = outline(shape)
    if shape.shape == "cross":
        strokes = " ".join(f"M{a[0]:g} {a[1]:g}L{b[0]:g} {b[1]:g}" for a, b in (corners[:2], corners[2:]))
        return f'<path d="{strokes}" stroke="{shape.colour}" stroke-width="2"/>'
    return f'<polygon points="{_point_list(corners)}" fill="{shape.colour}"/>'


def _point_list(points: Sequence[Point]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)


# ---- PNG -------------------------------------------------------------------------------------------------


def as_png(drawing: Drawing) -> bytes:
    """Write a drawing as a PNG file, two pixels to a unit."""
    image = Image.new("RGB", (drawing.width * SCALE, drawing.height * SCALE), "#fffdf6")
    pen = ImageDraw.Draw(image)
    for shape in drawing.shapes:
        _draw(pen, shape)
    buffer = io.BytesIO()
    image.save(buffer, "PNG", optimize=True)
    return buffer.getvalue()


def _draw(pen: ImageDraw.ImageDraw, shape: PlotLine | PlotMark | PlotText) -> None:
    if isinstance(shape, PlotText):
        font = ImageFont.truetype(FONT_FILES[shape.bold], round(shape.size * SCALE))
        anchor = {"start": "ls", "middle": "ms", "end": "rs"}[shape.anchor]
        pen.text(_scaled(shape.at), shape.text, fill=shape.colour, font=font, anchor=anchor)
    elif isinstance(shape, PlotLine):
        for stroke in _strokes(shape):
            pen.line([_scaled(p) for p in stroke], fill=shape.colour, width=round(shape.width * SCALE), joint="curve")
    elif shape.shape == "disc":
        (x, y), r = shape.at, shape.size
        pen.ellipse((*_scaled((x - r, y - r)), *_scaled((x + r, y + r))), fill=shape.colour)
    else:
        corners = [_scaled(p) for p in outline(shape)]
        if shape.shape == "cross":
            for pair in (corners[:2], corners[2:]):
                pen.line(pair, fill=shape.colour, width=2 * SCALE)
        else:
            pen.polygon(corners, fill=shape.colour)


def _scaled(point: Point) -> Point:
    return point[0] * SCALE, point[1] * SCALE


def _strokes(line: PlotLine) -> Iterator[tuple[Point, ...]]:
    """Yield the line whole, or cut into the strokes of its dashes."""
    if line.dash is None:
        yield line.points
        return
    stroke, gap = line.dash
    phase = 0.0  # how far along stroke and gap
    for (x0, y0), (x1, y1) in zip(line.points, line.points[1:], strict=False):
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        done = 0.0
        while done < length:
            left = (stroke if phase < stroke else stroke + gap) - phase
            step = min(left, length - done)
            if phase < stroke:
                ends = [(x0 + (x1 - x0) * d / length, y0 + (y1 - y0) * d / length) for d in (done, done + step)]
                yield tuple(ends)
            done, phase = done + step, (phase + step) % (stroke + gap)


WRITERS = {".svg": as_svg, ".png": as_png}
"""What writes a drawing, by the ending of the file's name."""
