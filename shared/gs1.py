"""Bag codes made of GS1 element strings (GS1 General Specifications, section 3).

Elements follow each other, each an application identifier and its data: as the symbol has them (fixed
lengths, or a separator at the end) or as people read them, with identifiers in brackets.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from shared.bag_code import BadBagCode, BagCode, BagCodeBuilder, full_year, parse_day
from shared.scanner_input import GS


@dataclass(frozen=True, slots=True)
class _ElementShape:
    """Shape of an element's data: most characters, whether always that many, whether digits only."""

    most: int
    fixed: bool = False
    digits: bool = False


def _digits_shape(count: int, *, fixed: bool = True) -> _ElementShape:
    return _ElementShape(count, fixed, digits=True)


_ELEMENT_SHAPES: dict[str, _ElementShape] = {
    "00": _digits_shape(18),
    "01": _digits_shape(14),
    "02": _digits_shape(14),
    "10": _ElementShape(20),
    "11": _digits_shape(6),
    "12": _digits_shape(6),
    "13": _digits_shape(6),
    "15": _digits_shape(6),
    "16": _digits_shape(6),
    "17": _digits_shape(6),
    "20": _digits_shape(2),
    "21": _ElementShape(20),
    "22": _ElementShape(20),
    "30": _digits_shape(8, fixed=False),
    "37": _digits_shape(8, fixed=False),
    "240": _ElementShape(30),
    "241": _ElementShape(30),
    "242": _digits_shape(6, fixed=False),
    "250": _ElementShape(30),
    "251": _ElementShape(30),
    "400": _ElementShape(30),
    "401": _ElementShape(30),
    "402": _digits_shape(17),
    "403": _ElementShape(30),
    "410": _digits_shape(13),
    "411": _digits_shape(13),
    "412": _digits_shape(13),
    "413": _digits_shape(13),
    "414": _digits_shape(13),
    "420": _ElementShape(20),
    "422": _digits_shape(3),
    "7003": _digits_shape(10),
    **{str(number): _ElementShape(90) for number in range(91, 100)},
    **{f"{measure}{places}": _digits_shape(6) for measure in range(310, 317) for places in range(6)},
}
"""Application identifiers that bags carry, with the shape of their data (GenSpecs, section 3.2)."""

_TEXT_FIELDS = {
    "01": "gtin",
    "02": "gtin",
    "10": "lot",
    "21": "serial",
    "240": "supplier_part",
    "241": "customer_part",
    "400": "order",
    "402": "packing_list",
    "422": "country",
}
_DATE_FIELDS = {
    "11": ("made", "day of making"),
    "13": ("made", "packing day"),
    "15": ("best_before", "best-before day"),
    "16": ("expires", "last day for sale"),
    "17": ("expires", "last day"),
    "7003": ("expires", "last day"),  # and time
}
_MEASURES = {"310": "KGM", "311": "MTR", "315": "LTR"}
"""Net weight, length and volume by the first three digits; the fourth is the number of decimal places."""

_MEANINGS = {
    "00": "Shipping container", "12": "Payment due", "20": "Variant", "22": "Consumer variant", 
    "242": "Made to order",
    "250": "Second serial number", "251": "Source", "401": "Consignment", "403": "Routing", "410": "Ship to",
    "411": "Bill to", "412": "Bought from", "413": "Ship for", "414": "Location", "420": "Postal code of ship to",
    **dict.fromkeys(map(str, range(91, 100)), "Information of the company"),
}  # fmt: skip
_COUNT_IDENTIFIERS = {"30", "37"}
_CHECK_DIGIT_IDENTIFIERS = {"00", "01", "02", "402", "410", "411", "412", "413", "414"}
_SCAN_AGAIN_HINT = "scan it again, or type what is missing."
_LOST_SEPARATOR_PATTERN = re.compile(r".+(?:1[1357]\d{6}|(?:30|37)\d{1,8}|(?:10|21).+)", re.ASCII)
_BRACKETED_PATTERN = re.compile(r"\((\d{2,4})\)([^(]*)")
_START_PATTERN = re.compile(
    r"\((?:00|01|02|10|11|15|17|21|24[01]|30|37)\)|01\d{14}|02\d{14}|00\d{18}(?!\d)", re.ASCII
)


def looks_like_element_string(text: str) -> bool:
    """Tell whether a text begins as GS1 element strings on bags do."""
    return _START_PATTERN.match(text.lstrip(GS)) is not None


def has_valid_check_digit(digits: str) -> bool:
    """Tell whether the last digit of a GTIN, SSCC or GLN is right (GenSpecs, section 7.9: weights 3 and 1)."""
    if not (digits.isascii() and digits.isdecimal()):
        return False
    return sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(reversed(digits))) % 10 == 0


def parse_element_string(text: str, raw: str, today: date) -> BagCode:
    """Read element strings whose separators are real, or whose identifiers are in brackets.

    An element that cannot be right (its identifier, shape, check digit or date) is left out, and said. Raises
    BadBagCode with a sentence when nothing is left.
    """
    reading = BagCodeBuilder(raw, "GS1", today)
    read_elements(text.strip(GS), reading)
    return reading.result()


def read_elements(text: str, reading: BagCodeBuilder) -> None:
    """Read element strings into a bag code that may hold more already."""
    for identifier, value in _parse_elements(text, reading):
        read_element(identifier, value, reading)
    if GS not in text and not text.startswith("("):
        _doubt_lost_separators(reading)


def read_checked_element(identifier: str, value: str, reading: BagCodeBuilder) -> None:
    """Read one element if its shape is right; note what is wrong with it otherwise."""
    if _has_valid_shape(identifier, value, reading):
        read_element(identifier, value, reading)


def read_element(identifier: str, value: str, reading: BagCodeBuilder) -> None:
    """Read one element whose shape is right."""
    if identifier in _CHECK_DIGIT_IDENTIFIERS and not has_valid_check_digit(value):
        reading.unread(_field_name(identifier), f"The check digit of {value} is wrong: {_SCAN_AGAIN_HINT}")
    elif identifier in _COUNT_IDENTIFIERS:
        reading.count(value)
    elif identifier in _DATE_FIELDS:
        name, what = _DATE_FIELDS[identifier]
        reading.day(name, partial(_parse_day, value[:6], what, reading.today))
    elif identifier[:3] in _MEASURES and len(identifier) == 4:
        unit, places = _MEASURES[identifier[:3]], int(identifier[3])
        reading.measure(f"{Decimal(value).scaleb(-places).normalize():f}", unit)
    elif identifier in _TEXT_FIELDS:
        reading.note(_TEXT_FIELDS[identifier], value)
    else:
        reading.other(identifier, _MEANINGS.get(identifier, ""), value)


def _parse_elements(text: str, reading: BagCodeBuilder) -> Iterator[tuple[str, str]]:
    """Give each element that has the shape it should; after one that has not, go on at the next separator."""
    if not text:
        raise BadBagCode("The code is empty: scan it again, or type the bag by hand.")
    if text.startswith("("):
        yield from _parse_bracketed(text, reading)
        return
    while text := text.lstrip(GS):
        identifier = _leading_identifier(text)
        shape = _ELEMENT_SHAPES.get(identifier)
        rest = text[len(identifier) :]
        value = rest[: shape.most] if shape and shape.fixed else rest.split(GS)[0]
        if _has_valid_shape(identifier, value, reading):
            yield identifier, value
            text = rest[len(value) :]
        else:
            text = text.partition(GS)[2]


def _parse_bracketed(text: str, reading: BagCodeBuilder) -> Iterator[tuple[str, str]]:
    if _BRACKETED_PATTERN.sub("", text).strip():
        raise BadBagCode(
            f"{text[:40]!r} does not read as identifiers in brackets, each with its data: scan it again."
        )
    for identifier, value in _BRACKETED_PATTERN.findall(text):
        plain = value.strip().strip(GS)
        if _has_valid_shape(identifier, plain, reading):
            yield identifier, plain


def _leading_identifier(text: str) -> str:
    """Return the identifier a text begins with, or its first characters if it is none that bags carry."""
    return next((text[:length] for length in (2, 3, 4) if text[:length] in _ELEMENT_SHAPES), text[:4].split(GS)[0])


def _has_valid_shape(identifier: str, value: str, reading: BagCodeBuilder) -> bool:
    """Tell whether an element is one that bags carry and has the shape it should; note what is wrong with it."""
    shape = _ELEMENT_SHAPES.get(identifier)
    if shape is None:
        lost = "the scanner may have left out a separator"
        reading.unread(
            "", f"{identifier!r} is no identifier that bags carry; {lost}. {_SCAN_AGAIN_HINT.capitalize()}"
        )
        return False
    too_long = len(value) > shape.most
    wrong = not value or too_long or (shape.fixed and len(value) != shape.most)
    if not wrong and not (shape.digits and not (value.isascii() and value.isdecimal())):
        return True
    kind = "digits" if shape.digits else "characters"
    bound = str(shape.most) if shape.fixed else f"1 to {shape.most}"
    hint = " The scanner may have left out a separator." if too_long else ""
    seen = value.split(GS)[0]
    sentence = f"After ({identifier}) come {bound} {kind}, not {seen[:40]!r}.{hint} {_SCAN_AGAIN_HINT.capitalize()}"
    reading.unread(_field_name(identifier), sentence)
    return False


def _field_name(identifier: str) -> str:
    """Return the field of BagCode that an identifier fills, or ""."""
    if identifier in _COUNT_IDENTIFIERS:
        return "quantity"
    return _DATE_FIELDS[identifier][0] if identifier in _DATE_FIELDS else _TEXT_FIELDS.get(identifier, "")


def _parse_day(value: str, what: str, today: date) -> date:
    return parse_day(full_year(int(value[:2]), today), int(value[2:4]), int(value[4:]), value, what)


def _doubt_lost_separators(reading: BagCodeBuilder) -> None:
    """Warn where a scanner that drops separators would have run another element into the lot or serial."""
    for name in ("lot", "serial"):
        if _LOST_SEPARATOR_PATTERN.fullmatch(reading.get(name)):
            reading.doubt(f"Check that the {name} is {reading.get(name)}: no separator came with the code.")
