"""Formats quantities of a part: "3 pieces", "1.5 m"."""

from __future__ import annotations

from typing import Any

from shared.quantities import format_quantity


def quantity_text(quantity: int, part: Any) -> str:
    """Format *quantity* base units of *part* (anything with a ``unit``)."""
    return format_quantity(quantity, part.unit)
