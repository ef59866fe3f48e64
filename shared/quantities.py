"""Quantities and money as whole numbers: what people type, and what people read.

A quantity is an integer in the base unit of its part (pieces, grams, millilitres, millimetres, ...); money
is an integer in the minor unit of its currency (cents). Nothing here ever passes through a binary fraction.
"""

import re
import unicodedata
from decimal import Decimal

from shared.text import quoted

MAX_QUANTITY = 1_000_000_000
"""The largest quantity or sum anybody may enter, in base or minor units: more is a slip of the finger."""

UNIT_FACTORS: dict[str, dict[str, int]] = {
    "piece": {"piece": 1, "pieces": 1, "pc": 1, "pcs": 1, "pce": 1, "each": 1, "ea": 1, "x": 1},
    "mg": {"mg": 1, "g": 1_000},
    "g": {"g": 1, "gram": 1, "grams": 1, "kg": 1_000},
    "ml": {"ml": 1, "cl": 10, "dl": 100, "l": 1_000, "litre": 1_000, "liter": 1_000},
    "mm": {"mm": 1, "cm": 10, "m": 1_000, "metre": 1_000, "meter": 1_000},
}
"""Base unit -> the units people write for it -> how many base units one of them is."""

_LARGE_UNITS = {"mg": ("g", 1_000), "g": ("kg", 1_000), "ml": ("l", 1_000), "mm": ("m", 1_000)}
_EXAMPLES = {"piece": "12", "mg": "500 mg", "g": "250 g", "ml": "250 ml", "mm": "1.5 m"}

CURRENCY_EXPONENTS = {
    "AED": 2, "AUD": 2, "BHD": 3, "BRL": 2, "CAD": 2, "CHF": 2, "CLP": 0, "CNY": 2, "CZK": 2, "DKK": 2,
    "EUR": 2, "GBP": 2, "HKD": 2, "HUF": 2, "ILS": 2, "INR": 2, "ISK": 0, "JOD": 3, "JPY": 0, "KRW": 0,
    "KWD": 3, "MXN": 2, "MYR": 2, "NOK": 2, "NZD": 2, "OMR": 3, "PLN": 2, "RON": 2, "SEK": 2, "SGD": 2,
    "THB": 2, "TND": 3, "TRY": 2, "TWD": 2, "UAH": 2, "USD": 2, "VND": 0, "ZAR": 2,
}  # fmt: skip
"""Currency -> decimal places of its minor unit (ISO 4217; values from memory)."""

_CURRENCY_SYMBOLS = {
    "€": ("EUR",),
    "£": ("GBP",),
    "¥": ("JPY", "CNY"),
    "$": ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"),
}
_AMOUNT_AND_UNIT_PATTERN = re.compile(r"(?P<amount>[+\-]?[\d.,' ]*\d[.,]?)\s*(?P<unit>[^\d\s.,'+\-]*)", re.ASCII)
_GROUPED_PATTERN = re.compile(
    r"\d{1,3}(?:(?: \d{3})+|(?:'\d{3})+)(?:[.,]\d+)?"  # 1 500,25
    r"|\d{1,3}(?:,\d{3})+\.\d+|\d{1,3}(?:\.\d{3})+,\d+",  # 1,500.25 and 1.500,25
    re.ASCII,
)
_PLAIN_PATTERN = re.compile(r"\d+[.,]?|\d*[.,]\d+", re.ASCII)
_MAX_LENGTH = 40


class BadQuantity(ValueError):
    """The text is no quantity or sum we can keep; the message is a sentence that says why."""


def parse_quantity(text: str, unit: str, *, minimum: int = 1) -> int:
    """Read what a person typed as a whole number of base units: "1.5 m" of a part kept in mm is 1500.

    A bare number is in base units; `,` and `.` both serve as decimal sign. `minimum` is 0 where nothing is an
    answer (a count, a level). Raises BadQuantity for text, another kind of unit, fractions of a base unit,
    less than `minimum` or more than MAX_QUANTITY; KeyError for a base unit that is not in UNIT_FACTORS.
    """
    amount, written = _split_amount_and_unit(text, f"a quantity, such as {_EXAMPLES[unit]}")
    factor = UNIT_FACTORS[unit].get(written.lower() or unit)
    if factor is None:
        accepted = ", ".join(UNIT_FACTORS[unit])
        kept_in = _unit_name(unit)
        raise BadQuantity(f"This part is kept in {kept_in}, not in {_quoted(written)}: write one of {accepted}.")
    value = _parse_number(amount, text, whole_only=factor == 1) * factor
    if value != value.to_integral_value():
        raise BadQuantity(f"{_quoted(text)} is not a whole number of {_unit_name(unit)}: the smallest step is 1.")
    return check_quantity(value, unit, minimum=minimum)


def check_quantity(amount: int | Decimal, unit: str, *, minimum: int = 1) -> int:
    """Return a whole number of base units that lies within `minimum` and MAX_QUANTITY, else raise BadQuantity."""
    if amount < minimum:
        bound = "cannot be negative" if minimum == 0 else f"must be at least {format_quantity(minimum, unit)}"
        raise BadQuantity(f"The quantity {bound}; {Decimal(amount):f} was given.")
    if amount > MAX_QUANTITY:
        raise BadQuantity(f"The quantity cannot be more than {MAX_QUANTITY}; look for a digit too many.")
    return int(amount)


def format_quantity(amount: int, unit: str) -> str:
    """Write base units for people: 1500 mm as "1.5 m", 250 ml as "250 ml", 1 piece as "1 piece"."""
    large, factor = _LARGE_UNITS.get(unit, (unit, 1))
    if factor > 1 and abs(amount) >= factor:
        return f"{_decimal_text(Decimal(amount) / factor)} {large}"
    return f"{amount} {_unit_name(unit) if abs(amount) != 1 else unit}"


def parse_money(text: str, currency: str) -> int:
    """Read a sum a person typed as whole minor units: "12,50", "€12.5" and "EUR 12.50" are all 1250.

    Raises BadQuantity for text, another currency, more decimal places than the currency has, a negative sum
    or more than MAX_QUANTITY; KeyError for a currency that is not in CURRENCY_EXPONENTS.
    """
    exponent = CURRENCY_EXPONENTS[currency]
    amount = _without_currency(text, currency)
    value = _parse_number(amount, text, whole_only=False).scaleb(exponent)
    if value != value.to_integral_value():
        raise BadQuantity(f"{_quoted(text)} has too many decimal places: {currency} has {exponent}.")
    if value < 0:
        raise BadQuantity(f"A sum cannot be negative; {_quoted(text)} was given.")
    if value > MAX_QUANTITY:
        raise BadQuantity(
            f"A sum cannot be more than {format_money(MAX_QUANTITY, currency)}; look for a digit too many."
        )
    return int(value)


def format_money(minor: int, currency: str) -> str:
    """Write minor units for people: 1250 EUR-cents as "12.50 EUR", 1250 yen as "1250 JPY"."""
    exponent = CURRENCY_EXPONENTS[currency]
    return f"{Decimal(minor).scaleb(-exponent):.{exponent}f} {currency}"


def _split_amount_and_unit(text: str, expected: str, as_typed: str | None = None) -> tuple[str, str]:
    plain = " ".join(unicodedata.normalize("NFKC", text).replace("\u2212", "-").split())
    if not plain:
        raise BadQuantity(f"Nothing was entered: write {expected}.")
    match = _AMOUNT_AND_UNIT_PATTERN.fullmatch(plain) if len(plain) <= _MAX_LENGTH else None
    if match is None:
        raise BadQuantity(f"{_quoted(as_typed or text)} is not {expected}.")
    return match["amount"].strip(), match["unit"]


def _without_currency(text: str, currency: str) -> str:
    expected = f"a sum of money, such as {format_money(1250, currency)}"
    plain = unicodedata.normalize("NFKC", text).strip().upper()
    for mark in (currency, *(symbol for symbol, used_by in _CURRENCY_SYMBOLS.items() if currency in used_by)):
        plain = plain.removeprefix(mark).removesuffix(mark).strip()
    amount, other = _split_amount_and_unit(plain, expected, text)
    if other in CURRENCY_EXPONENTS or other in _CURRENCY_SYMBOLS:
        raise BadQuantity(f"Prices here are in {currency}, not in {_quoted(other)}: convert it first.")
    if other:
        raise BadQuantity(f"{_quoted(text)} is not {expected}.")
    return amount


def _parse_number(amount: str, text: str, *, whole_only: bool) -> Decimal:
    """Read a number with either decimal sign; refuse one that two countries read as two numbers.

    `1,500` is fifteen hundred or one and a half; so is `1.500` where only whole numbers make sense.
    """
    sign, digits = (-1, amount[1:]) if amount[0] == "-" else (1, amount.removeprefix("+"))
    marks = "[.,]" if whole_only else ","
    if re.fullmatch(rf"[1-9]\d{{0,2}}{marks}\d{{3}}", digits, re.ASCII):
        large, small = re.sub(r"[.,]", "", digits), _decimal_text(Decimal(digits.replace(",", ".")))
        raise BadQuantity(f"{_quoted(text)} can be read in two ways: write {large}, or {small} if you mean that.")
    if _GROUPED_PATTERN.fullmatch(digits):
        whole, mark, rest = re.split(r"([.,])(?=\d+$)", digits) if digits[-4] not in " '" else (digits, "", "")
        return sign * Decimal(re.sub(r"\D", "", whole) + mark.replace(",", ".") + rest)
    if not _PLAIN_PATTERN.fullmatch(digits):
        raise BadQuantity(f"{_quoted(text)} does not read as one number: write digits and at most one decimal sign.")
    return sign * Decimal(digits.replace(",", ".").rstrip("."))


def _decimal_text(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _unit_name(unit: str) -> str:
    return "pieces" if unit == "piece" else unit


def _quoted(text: str) -> str:
    return quoted(text.strip(), 30)
