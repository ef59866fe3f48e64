"""Says quantities of a part in words for people: "3 pieces", "1.5 m"."""

from __future__ import annotations

from typing import Any

from shared.quantities import format_quantity


def amount(quantity: int, part: Any) -> str:
    """Say *quantity* base units of *part* (anything with a ``unit``)."""
    return format_quantity(quantity, part.unit)
