"""What a supplier's bag code says, whatever standard it follows: one record, and one error with a sentence."""

import calendar
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, NamedTuple

from shared.text import quoted

MAX_PIECES = 1_000_000_000
"""Largest quantity a bag may claim."""

CONTAINERS = ("reel", "pack", "box", "tube", "tray", "set")
UNITS_OF_MEASURE = {
    **dict.fromkeys(("EA", "PC", "PCE", "PCS", "C62", "H87"), "piece"),
    **dict.fromkeys(("KG", "KGM"), "kg"), **dict.fromkeys(("GR", "G", "GRM"), "g"),
    **dict.fromkeys(("LT", "L", "LTR"), "l"), **dict.fromkeys(("ML", "MLT"), "ml"),
    **dict.fromkeys(("MR", "M", "MTR"), "m"), **dict.fromkeys(("CM", "CMT"), "cm"),
    **dict.fromkeys(("MM", "MMT"), "mm"), **dict.fromkeys(("RL", "RE"), "reel"),
    **dict.fromkeys(("PK", "PA", "XPK"), "pack"), **dict.fromkeys(("BX", "XBX"), "box"),
    **dict.fromkeys(("TB", "TU"), "tube"), "SET": "set", "ST": "set",
}  # fmt: skip
"""Codes for units (ANSI X12 data element 355, UN/ECE Recommendation 20; values from memory) and what we call them."""

PLAUSIBLE_YEARS = range(1970, 2101)
"""Years that a date on a bag may be in; 9999 and the like stand for "none" in somebody's books."""


class BadBagCode(ValueError):
    """The text cannot be read as a bag code; the message is a sentence that says why and what to do."""


@dataclass(frozen=True, slots=True)
class UnreadField:
    """Something the code gives that cannot be: `field` of BagCode ("" for none of them), and a sentence that asks."""

    field: str
    sentence: str


class OtherField(NamedTuple):
    """Something the code gives that fills no field of BagCode; `meaning` is "" when we do not know it."""

    identifier: str
    meaning: str
    value: str


@dataclass(frozen=True, slots=True)
class BagCode:
    """What a bag code says; a field it does not have is "" or None.

    `customer_part` is our own number as the supplier knows it, `supplier_part` the maker's or supplier's
    number, `distributor_part` the distributor's. `made` is the day of making, or the Monday of the week in
    the date code. `amount` is a quantity in a unit other than pieces, as people write it ("100 m"). `others`
    holds what has no field here. `unread` is what the code gives but cannot be so; it has no value here.
    `doubts` are sentences to show beside the result, those of `unread` first.
    """

    raw: str
    standard: str
    customer_part: str = ""
    supplier_part: str = ""
    distributor_part: str = ""
    gtin: str = ""
    maker: str = ""
    quantity: int | None = None
    amount: str = ""
    lot: str = ""
    serial: str = ""
    date_code: str = ""
    made: date | None = None
    best_before: date | None = None
    expires: date | None = None
    order: str = ""
    supplier_order: str = ""
    packing_list: str = ""
    country: str = ""
    others: tuple[OtherField, ...] = field(default=())
    unread: tuple[UnreadField, ...] = field(default=())
    doubts: tuple[str, ...] = field(default=())

    @property
    def part_numbers(self) -> tuple[str, ...]:
        """Numbers to look the part up by, the surest first, each once."""
        numbers = (self.customer_part, self.supplier_part, self.distributor_part, self.gtin)
        return tuple(dict.fromkeys(number for number in numbers if number))


def parse_count(text: str) -> int:
    """Read how many pieces are in a bag; "25", "0025" and "25.00" are 25.

    Raises BadBagCode for nothing, fractions, ranges, text and more than MAX_PIECES, and for "1.000" and "1,000",
    which are a thousand to some and one to others.
    """
    if grouped := re.fullmatch(r"(\d{1,3})[.,](\d{3})", text.strip(), re.ASCII):
        few, many = int(grouped[1]), int(grouped[1] + grouped[2])
        raise BadBagCode(f"The quantity {quoted(text)} can mean {few} or {many}: count the bag and type it.")
    match = re.fullmatch(r"(\d{1,12})(?:\.0*)?\s*(?:EA|PC|PCS|PCE|PIECES)?", text.strip().upper(), re.ASCII)
    if match is None:
        raise BadBagCode(f"The quantity {quoted(text)} is not a whole number: count the bag and type it.")
    count = int(match[1])
    if count == 0:
        raise BadBagCode("The code says that the bag holds 0 pieces: count it and type the quantity.")
    if count > MAX_PIECES:
        raise BadBagCode(f"The code says that the bag holds {count} pieces, which cannot be: count it and type it.")
    return count


def parse_day(year: int, month: int, day: int, text: str, what: str) -> date:
    """Make a date, day 0 meaning the last of the month; raise BadBagCode for one that is not in the calendar, or
    not in PLAUSIBLE_YEARS.
    """
    try:
        day_of_bag = date(year, month, day or calendar.monthrange(year, month)[1])
    except (ValueError, calendar.IllegalMonthError):
        raise BadBagCode(f"{quoted(text)} is no {what} that exists: read the bag and type it.") from None
    if day_of_bag.year not in PLAUSIBLE_YEARS:
        raise BadBagCode(f"{quoted(text)} is no {what} that can be right: read the bag, and type it if there is one.")
    return day_of_bag


def parse_date_code(text: str, today: date) -> date:
    """Read a date code YYWW or YYYYWW as the Monday of its week (ISO 8601); raise BadBagCode for no such week."""
    year = int(text[:4]) if len(text) == 6 else full_year(int(text[:2]), today)
    if year not in PLAUSIBLE_YEARS:
        raise BadBagCode(f"{quoted(text)} is no date code: {year} cannot be right.")
    try:
        return date.fromisocalendar(year, int(text[-2:]), 1)
    except ValueError:
        raise BadBagCode(f"{quoted(text)} is no date code: a year has no week {int(text[-2:])}.") from None


def full_year(two_digits: int, today: date) -> int:
    """Put a two-digit year within 49 years before or 50 after this one (GS1 General Specifications, 7.12)."""
    century = today.year // 100 * 100
    apart = two_digits - today.year % 100
    if apart >= 51:
        century -= 100
    elif apart <= -50:
        century += 100
    return century + two_digits


class BagCodeBuilder:
    """A bag code while it is read, field by field."""

    def __init__(self, raw: str, standard: str, today: date) -> None:
        self.today = today
        self._fields: dict[str, Any] = {"raw": raw, "standard": standard}
        self._others: list[OtherField] = []
        self._unread: list[UnreadField] = []
        self._doubts: list[str] = []

    def note(self, name: str, value: str | date) -> None:
        """Keep a field of BagCode; keep the first and doubt when it comes again with something else."""
        before = self._fields.setdefault(name, value)
        if before != value:
            words = {"expires": "last day", "made": "day of making"}.get(name, name.replace("_", " "))
            self._doubts.append(f"It gives the {words} twice, {before} and {value}: check the bag.")

    def count(self, text: str) -> None:
        """Keep the quantity; go without it when it cannot be, or comes again with another."""
        try:
            count = parse_count(text)
        except BadBagCode as bad:
            self.unread("quantity", str(bad))
            return
        before = self._fields.setdefault("quantity", count)
        if before != count:
            self.unread(
                "quantity", f"The code gives two quantities, {before} and {count}: count the bag and type it."
            )

    def measure(self, number: str, unit: str) -> None:
        """Keep an amount in a unit of measure; one in pieces is the count."""
        name = UNITS_OF_MEASURE.get(unit.upper())
        if name is None:
            self.unread("quantity", f"The quantity {quoted(number)} is in {quoted(unit)}: count the bag and type it.")
        elif name == "piece":
            self.count(number)
        elif not re.fullmatch(r"\d{1,9}(?:\.\d{1,6})?", number, re.ASCII) or not float(number):
            self.unread("quantity", f"{quoted(number)} is no amount: read the bag and type it, with its unit.")
        elif name in CONTAINERS:
            many = "" if number == "1" else "s"
            self.unread(
                "quantity", f"It holds {number} {name}{many}, and does not say of how many: count them and type it."
            )
        else:
            self.note("amount", f"{number} {name}")

    def day(self, name: str, read: Callable[[], date]) -> None:
        """Keep a date; go without it when *read* raises BadBagCode."""
        try:
            self.note(name, read())
        except BadBagCode as bad:
            self.unread(name, str(bad))

    def unread(self, name: str, sentence: str) -> None:
        """Go without a field of BagCode ("" for none of them), and say why."""
        self._unread.append(UnreadField(name, sentence))

    def other(self, identifier: str, meaning: str, value: str) -> None:
        """Keep what has no field of its own."""
        self._others.append(OtherField(identifier, meaning, value))

    def doubt(self, sentence: str) -> None:
        """Add a sentence to show beside the result."""
        self._doubts.append(sentence)

    def get(self, name: str) -> str:
        """Return a text field noted so far, or ""."""
        return str(self._fields.get(name, ""))

    def result(self) -> BagCode:
        """Return what was read; raise BadBagCode when nothing of it is of use.

        A field that came twice, once as it cannot be, is unread.
        """
        sentences = [field_.sentence for field_ in self._unread]
        fields = {
            name: value
            for name, value in self._fields.items()
            if name not in {field_.field for field_ in self._unread}
        }
        if not fields.keys() - {"raw", "standard"}:
            raise BadBagCode(
                (sentences or ["The code holds nothing that can be used here: type the bag by hand."])[0]
            )
        code = BagCode(**fields, others=tuple(self._others), unread=tuple(self._unread))
        return replace(code, doubts=(*sentences, *self._doubts, *_date_doubts(code, self.today)))


def _date_doubts(code: BagCode, today: date) -> list[str]:
    """Say what is odd about dates that do exist."""
    made, last = code.made, code.expires or code.best_before
    doubts = []
    if made is not None and made > today + timedelta(days=7):
        doubts.append(f"It says it was made on {made.isoformat()}, which is still to come: check the bag.")
    if last is not None and last < today:
        doubts.append(f"It went out of date on {last.isoformat()}.")
    if made is not None and last is not None and last < made:
        doubts.append("It says it went out of date before it was made: check the bag.")
    return doubts
