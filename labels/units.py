"""Lengths on paper: millimetres, points, and whole printer dots."""

import math

MM_PER_INCH = 25.4
POINTS_PER_INCH = 72.0


def to_dots(mm: float, dpi: int) -> int:
    """Round a length to whole printer dots."""
    return round(mm * dpi / MM_PER_INCH)


def dots_within(mm: float, dpi: int) -> int:
    """Return the number of whole printer dots that a length holds."""
    return math.floor(mm * dpi / MM_PER_INCH + 1e-6)
