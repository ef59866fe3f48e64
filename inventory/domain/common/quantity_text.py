"""Quantities of a part as text: shown ("3 pieces", "1.5 m"), and read as typed, where an error names the field."""

from __future__ import annotations

from typing import Any

from inventory.domain.common.errors import Invalid
from shared.quantities import BadQuantity, format_quantity, parse_quantity


def quantity_text(quantity: int, part: Any) -> str:
    """Format *quantity* base units of *part* (anything with a ``unit``)."""
    return format_quantity(quantity, part.unit)


def parse_quantity_field(text: str, unit: str, field: str = "amount", *, minimum: int = 1) -> int:
    """Read a quantity as typed ("12", "1.5 m") in base units of *unit*; raise Invalid naming *field*."""
    try:
        return parse_quantity(text, unit, minimum=minimum)
    except BadQuantity as bad:
        raise Invalid(str(bad), reason="bad_quantity", errors={field: [str(bad)]}) from None


def parse_optional_quantity(text: str, unit: str, field: str, *, minimum: int = 1) -> int | None:
    """Read a quantity that may be left blank, which is None."""
    return parse_quantity_field(text, unit, field, minimum=minimum) if text.strip() else None
