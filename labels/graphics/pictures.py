"""Small drawings that tell parts apart at a glance.

A connector is drawn at true size: hold the part against its label and the pins must meet the squares, so a
2.0 mm header is not put back among the 2.5 mm ones. Everything else is a sign for its kind. The drawings
are our own.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from labels.graphics.shapes import Box, Disc, Polygon, Shape, circle_outline, rectangle_outline
from labels.units import MM_PER_INCH

_SIGN_DESIGN_MM = 7.0  # lines of signs are as thick as on one of this size


@dataclass(frozen=True, slots=True)
class PartPicture:
    """What to draw: the kind of part, and for a connector its pitch in mm and how many ways it has."""

    kind: str
    pitch_mm: float = 0.0
    ways: int = 0

    @property
    def is_sign(self) -> bool:
        """Whether there is a sign for the kind."""
        return self.kind in _SIGN_DRAWERS

    @property
    def is_true_size(self) -> bool:
        """Whether pins are drawn at their true distance."""
        return self.kind in {"header", "flex"} and self.pitch_mm > 0 and self.ways > 0


@dataclass(frozen=True, slots=True)
class _Pen:
    """Where a drawing goes: the dots it may fill and how many of them make a millimetre."""

    x: int
    y: int
    width: int
    height: int
    dots_a_mm: float

    def dots(self, mm: float) -> int:
        return max(1, round(mm * self.dots_a_mm))

    @property
    def line(self) -> int:
        return self.dots(0.25)


def draw_pins(picture: PartPicture, x: int, y: int, width: int, height: int, dpi: int) -> list[Shape]:
    """Draw a connector at true size into a rectangle of dots."""
    return _draw_connector(picture, _Pen(x, y, width, height, dpi / MM_PER_INCH))


def draw_sign(picture: PartPicture, x: int, y: int, side: int) -> list[Shape]:
    """Draw the sign for a kind of part into a square of dots, or nothing where there is none."""
    sign = _SIGN_DRAWERS.get(picture.kind)
    return sign(_Pen(x, y, side, side, side / _SIGN_DESIGN_MM)) if sign else []


def true_width_mm(picture: PartPicture) -> float:
    """Millimetres that a connector drawn at true size takes."""
    return (picture.ways - 1) * picture.pitch_mm + max(2.4, picture.pitch_mm * 1.6)


def _draw_connector(picture: PartPicture, pen: _Pen) -> list[Shape]:
    """Draw pins as squares at true pitch in a housing; too many for the room end in an open side."""
    whole = pen.dots(true_width_mm(picture)) <= pen.width
    flat = picture.kind == "flex"
    end = (true_width_mm(picture) - (picture.ways - 1) * picture.pitch_mm) / 2
    width = pen.dots(true_width_mm(picture)) if whole else pen.width
    height = min(pen.height, pen.dots(2.6 if flat else 3.6))
    top = pen.y + (pen.height - height) // 2
    ink = rectangle_outline(pen.x, top, width, height, pen.line)
    if not whole:
        ink.append(Box(pen.x + width - pen.line, top + pen.line, pen.line, height - 2 * pen.line, white=True))
    elif not flat:
        ink.append(_keying_notch(pen.x, top, width, height, pen))
    pin = max(2, pen.dots(min(0.64, picture.pitch_mm * 0.45)))
    tall = height - 4 * pen.line if flat else pin
    for way in range(picture.ways):
        centre = pen.x + round((end + way * picture.pitch_mm) * pen.dots_a_mm)
        if not whole and centre + pin > pen.x + width - 2 * pen.line:
            break
        ink.append(Box(centre - pin // 2, top + (height - tall) // 2, pin, tall))
    return ink


def _keying_notch(x: int, top: int, width: int, height: int, pen: _Pen) -> Shape:
    """Cut the notch that marks the keyed side of a housing."""
    notch = min(width // 3, pen.dots(2.0))
    return Box(x + (width - notch) // 2, top + height - pen.line, notch, pen.line, white=True)


def _draw_circular_connector(pen: _Pen) -> list[Shape]:
    """A round panel connector, seen from the front."""
    x, y, radius = pen.x + pen.width // 2, pen.y + pen.height // 2, pen.width // 2
    ink = circle_outline(x, y, radius, pen.line)
    for angle in (210, 270, 330):
        ink.append(_polar_disc(x, y, radius * 0.55, angle, max(2, radius // 7)))
    return [*ink, Box(x - pen.line, y + radius - 2 * pen.line, 2 * pen.line, 2 * pen.line)]


def _draw_fan(pen: _Pen) -> list[Shape]:
    """A fan in its frame: four screw holes, five blades, hub."""
    x, y, half = pen.x + pen.width // 2, pen.y + pen.height // 2, pen.width // 2
    ink = rectangle_outline(pen.x, pen.y, pen.width, pen.height, pen.line)
    inset, hole = pen.width // 8, max(2, pen.width // 22)
    for dx in (-half + inset, half - inset):
        ink.extend(Disc(x + dx, y + dy, hole) for dy in (-half + inset, half - inset))
    reach = half * 0.82
    for blade in range(5):
        turn = blade * 72 - 90
        ink.append(
            Polygon(
                (
                    _polar_point(x, y, half * 0.2, turn),
                    _polar_point(x, y, reach, turn - 8),
                    _polar_point(x, y, reach, turn + 34),
                )
            )
        )
    return [*ink, Disc(x, y, round(half * 0.34), white=True), Disc(x, y, round(half * 0.26))]


def _draw_supply(pen: _Pen) -> list[Shape]:
    """A box that takes a wave and gives a straight line."""
    ink = rectangle_outline(pen.x, pen.y, pen.width, pen.height, pen.line)
    left, right, top, bottom = pen.x, pen.x + pen.width, pen.y, pen.y + pen.height
    ink.append(_slanted_line((left, bottom - pen.line), (right - pen.line, top), pen.line))
    middle_x, middle_y, span = left + pen.width * 0.3, top + pen.height * 0.3, pen.width * 0.2
    wave = [
        (round(middle_x - span + step * span / 6), round(middle_y - math.sin(step * math.pi / 6) * span * 0.5))
        for step in range(13)
    ]
    ink.extend(_slanted_line(begin, end, pen.line) for begin, end in pairwise(wave))
    low, start, length = bottom - pen.height // 3, right - pen.width // 2, pen.width // 3
    ink.append(Box(start, low, length, pen.line))
    dash = max(1, length // 5)
    ink.extend(Box(start + dash_number * 2 * dash, low + 2 * pen.line, dash, pen.line) for dash_number in range(3))
    return ink


def _draw_module(pen: _Pen) -> list[Shape]:
    """A board with a chip, two parts and an edge connector."""
    unit = pen.width / 12
    board = rectangle_outline(pen.x, pen.y + round(unit), pen.width, round(unit * 9), pen.line)
    chip = [(2.0, 3.0, 4.0, 4.0), *((2.2 + shape, 2.4, 0.4, 5.2) for shape in range(4))]
    parts = [(7.5, 3.0, 2.5, 1.0), (7.5, 5.0, 2.5, 1.0)]
    edge = [(2.5 + shape * 1.2, 10.0, 0.7, 1.4) for shape in range(6)]
    return [*board, *(_scaled_box(pen, unit, *shape) for shape in (*chip, *parts, *edge))]


def _scaled_box(pen: _Pen, unit: float, x: float, y: float, width: float, height: float) -> Shape:
    left, top = round(pen.x + x * unit), round(pen.y + y * unit)
    return Box(left, top, max(1, round(width * unit)), max(1, round(height * unit)))


def _draw_bottle(pen: _Pen) -> list[Shape]:
    """A bottle, a third full."""
    wide, x = round(pen.width * 0.56), pen.x + round(pen.width * 0.22)
    body_top = pen.y + round(pen.height * 0.34)
    body = rectangle_outline(x, body_top, wide, pen.y + pen.height - body_top, pen.line)
    neck = round(pen.width * 0.2)
    cap = Box(pen.x + (pen.width - neck) // 2, pen.y, neck, round(pen.height * 0.16))
    shoulder = pen.y + round(pen.height * 0.16)
    slopes = [
        _slanted_line((cap.x, shoulder), (x, body_top), pen.line),
        _slanted_line((cap.x + neck - pen.line, shoulder), (x + wide - pen.line, body_top), pen.line),
    ]
    level = pen.y + round(pen.height * 0.7)
    fill = Box(x, level, wide, pen.y + pen.height - level)
    mouth = Box(x + pen.line, body_top, wide - 2 * pen.line, pen.line, white=True)
    return [cap, *body, *slopes, mouth, fill]


def _draw_screw(pen: _Pen) -> list[Shape]:
    """The head of a cross-slot screw."""
    x, y, radius = pen.x + pen.width // 2, pen.y + pen.height // 2, pen.width // 2
    bar, reach = max(2, pen.width // 8), round(radius * 0.55)
    return [
        *circle_outline(x, y, radius, pen.line),
        Box(x - bar // 2, y - reach, bar, 2 * reach),
        Box(x - reach, y - bar // 2, 2 * reach, bar),
    ]


def draw_warning_sign(x: int, y: int, side: int) -> list[Shape]:
    """Draw a white warning triangle with a black stroke and dot, for a black band."""
    height = round(side * 0.9)
    top = y + (side - height) // 2
    stroke = max(1, side // 9)
    middle = x + side // 2
    return [
        Polygon(((middle, top), (x + side, top + height), (x, top + height)), white=True),
        Box(middle - stroke // 2, top + round(height * 0.36), stroke, round(height * 0.34)),
        Box(middle - stroke // 2, top + round(height * 0.78), stroke, max(1, round(height * 0.1))),
    ]


def _polar_point(x: float, y: float, distance: float, angle: float) -> tuple[int, int]:
    turn = math.radians(angle)
    return round(x + distance * math.cos(turn)), round(y + distance * math.sin(turn))


def _polar_disc(x: int, y: int, distance: float, angle: float, radius: int) -> Shape:
    return Disc(*_polar_point(x, y, distance, angle), radius)


def _slanted_line(begin: tuple[int, int], end: tuple[int, int], thick: int) -> Shape:
    """A slanting line as a parallelogram `thick` dots wide."""
    if abs(end[0] - begin[0]) > abs(end[1] - begin[1]):
        return Polygon((begin, end, (end[0], end[1] + thick), (begin[0], begin[1] + thick)))
    return Polygon((begin, (begin[0] + thick, begin[1]), (end[0] + thick, end[1]), end))


_SIGN_DRAWERS: dict[str, Callable[[_Pen], list[Shape]]] = {
    "circular": _draw_circular_connector,
    "fan": _draw_fan,
    "supply": _draw_supply,
    "module": _draw_module,
    "consumable": _draw_bottle,
    "hardware": _draw_screw,
}
