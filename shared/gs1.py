"""Bag codes made of GS1 element strings (GS1 General Specifications, section 3).

Elements follow each other, each an application identifier and its data: as the symbol has them (fixed
lengths, or a separator at the end) or as people read them, with identifiers in brackets.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial

from shared.bag_code import BadBagCode, BagCode, Reading, full_year, read_day
from shared.scanner_input import GS


@dataclass(frozen=True, slots=True)
class _Element:
    """Shape of an element's data: most characters, whether always that many, whether digits only."""

    most: int
    fixed: bool = False
    digits: bool = False


def _digits(count: int, *, fixed: bool = True) -> _Element:
    return _Element(count, fixed, digits=True)


_ELEMENTS: dict[str, _Element] = {
    "00": _digits(18), "01": _digits(14), "02": _digits(14), "10": _Element(20), "11": _digits(6),
    "12": _digits(6), "13": _digits(6), "15": _digits(6), "16": _digits(6), "17": _digits(6), "20": _digits(2),
    "21": _Element(20), "22": _Element(20), "30": _digits(8, fixed=False), "37": _digits(8, fixed=False),
    "240": _Element(30), "241": _Element(30), "242": _digits(6, fixed=False), "250": _Element(30),
    "251": _Element(30), "400": _Element(30), "401": _Element(30), "402": _digits(17), "403": _Element(30),
    "410": _digits(13), "411": _digits(13), "412": _digits(13), "413": _digits(13), "414": _digits(13),
    "420": _Element(20), "422": _digits(3), "7003": _digits(10),
    **{str(number): _Element(90) for number in range(91, 100)},
    **{f"{measure}{places}": _digits(6) for measure in range(310, 317) for places in range(6)},
}  # fmt: skip
"""Application identifiers that bags carry, with the shape of their data (GenSpecs, section 3.2)."""

_TEXTS = {
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
_DAYS = {
    "11": ("made", "day of making"),
    "13": ("made", "packing day"),
    "15": ("best_before", "best-before day"),
    "16": ("expires", "last day for sale"),
    "17": ("expires", "last day"),
}
_COUNTS = {"30", "37"}
_CHECKED = {"00", "01", "02", "402", "410", "411", "412", "413", "414"}
_AGAIN = "scan it again, or type what is missing."
_RUNS_ON = re.compile(r".+(?:1[1357]\d{6}|(?:30|37)\d{1,8}|(?:10|21).+)", re.ASCII)
_IN_BRACKETS = re.compile(r"\((\d{2,4})\)([^(]*)")
_BEGINS = re.compile(r"\((?:00|01|02|10|11|15|17|21|24[01]|30|37)\)|01\d{14}|02\d{14}|00\d{18}(?!\d)", re.ASCII)


def is_element_string(text: str) -> bool:
    """Tell whether a text begins as GS1 element strings on bags do."""
    return _BEGINS.match(text.lstrip(GS)) is not None


def has_valid_check_digit(digits: str) -> bool:
    """Tell whether the last digit of a GTIN, SSCC or GLN is right (GenSpecs, section 7.9: weights 3 and 1)."""
    if not (digits.isascii() and digits.isdecimal()):
        return False
    return sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(reversed(digits))) % 10 == 0


def read_elements(text: str, raw: str, today: date) -> BagCode:
    """Read element strings whose separators are real, or whose identifiers are in brackets.

    An element that cannot be right (its identifier, shape, check digit or date) is left out, and said. Raises
    BadBagCode with a sentence when nothing is left.
    """
    reading = Reading(raw, "GS1", today)
    for identifier, value in _elements(text.strip(GS), reading):
        if identifier in _CHECKED and not has_valid_check_digit(value):
            reading.unread(_field(identifier), f"The check digit of {value} is wrong: {_AGAIN}")
        elif identifier in _COUNTS:
            reading.count(value)
        elif identifier in _DAYS:
            name, what = _DAYS[identifier]
            reading.day(name, partial(_day, value, what, today))
        elif identifier in _TEXTS:
            reading.note(_TEXTS[identifier], value)
        else:
            reading.other(identifier, value)
    if GS not in text and not text.startswith("("):
        _doubt_lost_separators(reading)
    return reading.result()


def _elements(text: str, reading: Reading) -> Iterator[tuple[str, str]]:
    """Give each element that has the shape it should; after one that has not, go on at the next separator."""
    if not text:
        raise BadBagCode("The code is empty: scan it again, or type the bag by hand.")
    if text.startswith("("):
        yield from _in_brackets(text, reading)
        return
    while text := text.lstrip(GS):
        identifier = _identifier(text)
        shape = _ELEMENTS.get(identifier)
        rest = text[len(identifier) :]
        value = rest[: shape.most] if shape and shape.fixed else rest.split(GS)[0]
        if _is_right(identifier, value, reading):
            yield identifier, value
            text = rest[len(value) :]
        else:
            text = text.partition(GS)[2]


def _in_brackets(text: str, reading: Reading) -> Iterator[tuple[str, str]]:
    if _IN_BRACKETS.sub("", text).strip():
        raise BadBagCode(
            f"{text[:40]!r} does not read as identifiers in brackets, each with its data: scan it again."
        )
    for identifier, value in _IN_BRACKETS.findall(text):
        plain = value.strip().strip(GS)
        if _is_right(identifier, plain, reading):
            yield identifier, plain


def _identifier(text: str) -> str:
    """Return the identifier a text begins with, or its first characters if it is none that bags carry."""
    return next((text[:length] for length in (2, 3, 4) if text[:length] in _ELEMENTS), text[:4].split(GS)[0])


def _is_right(identifier: str, value: str, reading: Reading) -> bool:
    """Tell whether an element is one that bags carry and has the shape it should; note what is wrong with it."""
    shape = _ELEMENTS.get(identifier)
    if shape is None:
        lost = "the scanner may have left out a separator"
        reading.unread("", f"{identifier!r} is no identifier that bags carry; {lost}. {_AGAIN.capitalize()}")
        return False
    too_long = len(value) > shape.most
    wrong = not value or too_long or (shape.fixed and len(value) != shape.most)
    if not wrong and not (shape.digits and not (value.isascii() and value.isdecimal())):
        return True
    kind = "digits" if shape.digits else "characters"
    bound = str(shape.most) if shape.fixed else f"1 to {shape.most}"
    hint = " The scanner may have left out a separator." if too_long else ""
    seen = value.split(GS)[0]
    sentence = f"After ({identifier}) come {bound} {kind}, not {seen[:40]!r}.{hint} {_AGAIN.capitalize()}"
    reading.unread(_field(identifier), sentence)
    return False


def _field(identifier: str) -> str:
    """Return the field of BagCode that an identifier fills, or ""."""
    if identifier in _COUNTS:
        return "quantity"
    return _DAYS[identifier][0] if identifier in _DAYS else _TEXTS.get(identifier, "")


def _day(value: str, what: str, today: date) -> date:
    return read_day(full_year(int(value[:2]), today), int(value[2:4]), int(value[4:]), value, what)


def _doubt_lost_separators(reading: Reading) -> None:
    """Warn where a scanner that drops separators would have run another element into the lot or serial."""
    for name in ("lot", "serial"):
        if _RUNS_ON.fullmatch(reading.get(name)):
            reading.doubt(f"Check that the {name} is {reading.get(name)}: no separator came with the code.")
