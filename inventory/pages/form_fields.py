"""More things that people type into forms: sums of money, numbers, shares, lists of lines, price breaks."""

from __future__ import annotations

import math
from contextlib import suppress
from typing import Any

from marshmallow import ValidationError, fields

from inventory.domain.common.validation import parse_id
from inventory.pages.context import settings
from shared.quantities import BadQuantity, parse_money


def _parse_money(text: str) -> int:
    try:
        return parse_money(text, settings().currency)
    except BadQuantity as bad:
        raise ValidationError(str(bad)) from None


class MoneyField(fields.Field[int | None]):
    """A sum in the bench's currency, as minor units; left out or blank, it is None (or the sentence *needed*)."""

    def __init__(self, needed: str = "") -> None:
        """Ask for a sum."""
        super().__init__(load_default=None)
        self.needed = needed

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> int | None:
        if str(value).strip():
            return _parse_money(str(value))
        if self.needed:
            raise ValidationError(self.needed)
        return None


class NumberField(fields.Field[float | None]):
    """A number that need not be whole, with a point or a comma; left out or blank, it is None."""

    def __init__(self, wrong: str) -> None:
        """Ask for a number; *wrong* is the sentence for what is none."""
        super().__init__(load_default=None)
        self.wrong = wrong

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> float | None:
        text = str(value).replace(",", ".").strip()
        if not text:
            return None
        with suppress(ValueError):
            if math.isfinite(number := float(text)):
                return number
        raise ValidationError(self.wrong)


class PercentField(fields.Field[float | None]):
    """A share typed as a percentage ("95" or "95 %"); left out or blank, it is None."""

    def __init__(self, low: float = 0, high: float = 1) -> None:
        """Ask for a percentage; *low* and *high* are the shares that it may be."""
        super().__init__(load_default=None)
        self.low, self.high = round(low * 100, 6), round(high * 100, 6)

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> float | None:
        text = str(value).replace("%", "").replace(",", ".").strip()
        if not text:
            return None
        try:
            number = float(text)
        except ValueError:
            number = float("nan")
        if not self.low <= number <= self.high:
            raise ValidationError(f"Type a percentage from {self.low:g} to {self.high:g}, such as 95.")
        return round(number / 100, 6)


class MillimetresField(fields.Field[float | None]):
    """A length in millimetres; left out or blank, it is *blank*."""

    def __init__(self, blank: float | None = None) -> None:
        """Ask for millimetres."""
        super().__init__(load_default=blank)
        self.blank = blank

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> float | None:
        text = str(value).lower().removesuffix("mm").strip().replace(",", ".").replace("\u2212", "-")
        if not text:
            return self.blank
        try:
            return float(text)
        except ValueError:
            raise ValidationError("Type millimetres, such as 1.5 or -0.5.") from None


class LinesField(fields.Field[list[str]]):
    """Several short texts, one to a line; blank lines are left out."""

    def __init__(self) -> None:
        """Ask for lines."""
        super().__init__(load_default=list)

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> list[str]:
        return [line.strip() for line in str(value).splitlines() if line.strip()]


class PriceBreaksField(fields.Field[list[tuple[int, int]]]):
    """Price breaks, one to a line: "10: 8.50" is 8.50 a pack from 10 packs on."""

    def __init__(self) -> None:
        """Ask for price breaks."""
        super().__init__(load_default=list)

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> list[tuple[int, int]]:
        return [_parse_price_break(line) for line in str(value).splitlines() if line.strip()]


def _parse_price_break(line: str) -> tuple[int, int]:
    packs, colon, price = line.partition(":")
    number = parse_id(packs.strip()) if colon else None
    if number is None:
        raise ValidationError("Write each price break as packs, a colon, and the price of a pack: 10: 8.50")
    return number, _parse_money(price)
