"""Bag codes in an ISO/IEC 15434 envelope with ASC MH10.8.2 data identifiers, as ECIA EIGP 114 uses them.

An envelope is `[)>` RS `06` GS field GS field ... RS EOT; a field begins with its data identifier, at most
three digits and a letter. Format 05 holds GS1 element strings instead; one envelope may hold several formats.
Older bags carry the fields without an envelope. A missing trailer is forgiven; missing separators are not,
because single letters such as P and Q are identifiers and stand within part numbers as well.
"""

import re
from collections.abc import Iterable
from datetime import date

from shared.bag_code import BadBagCode, BagCode, BagCodeBuilder, full_year, parse_date_code, parse_day
from shared.gs1 import read_elements
from shared.scanner_input import EOT, GS, RS

ENVELOPE_HEADER = "[)>"
LOST_SEPARATORS = (
    "The scanner left out the separators between the fields. Set it to type {GS} for them (its manual calls them "
    "control characters or function codes), or take a photo of the code."
)

_FIELD_PATTERN = re.compile(r"(\d{0,3}[A-Z])(.*)", re.DOTALL)
_TEXT_FIELDS = {
    "P": "customer_part",
    "1P": "supplier_part",
    "30P": "distributor_part",
    "1T": "lot",
    "S": "serial",
    "K": "order",
    "1K": "supplier_order",
    "11K": "packing_list",
    "4L": "country",
    "1V": "maker",
    "V": "maker",
    "9D": "date_code",
    "10D": "date_code",
    "11D": "date_code",
}
"""Data identifiers that are kept as they are (ASC MH10.8.2)."""

_PART_NUMBERS = {"P", "1P", "30P"}
_DATE_FIELDS = {
    "14D": ("expires", "last day", "YYYYMMDD"),
    "15D": ("expires", "last day", "DDMMYYYY"),
    "16D": ("made", "day of making", "YYYYMMDD"),
    "17D": ("made", "day of making", "DDMMYYYY"),
    "25D": ("best_before", "best-before day", "YYYYMMDD"),
    "28D": ("best_before", "best-before day", "YYYYMMDD"),
}
"""Dates that say of what: the field of BagCode, what people call it, and how it is written (ASC MH10.8.2)."""

_QUALIFIED_DATES = {"5D": "YYMMDD", "6D": "YYYYMMDD"}
_DATE_QUALIFIERS = {
    "036": ("expires", "last day"),
    "094": ("made", "day of making"),
    "405": ("made", "day of making"),
}
"""What a qualified date is of (ANSI X12 data element 374; the three codes from memory)."""

_MEANINGS = {
    **dict.fromkeys(("D", "1D", "2D", "3D", "4D", "5D", "6D", "7D", "8D", "12D", "23D"), "Date"),
    "2Q": "Weight", "3Q": "Unit of measure", "13D": "Oldest and newest week of making", "20D": "Inspected",
    "E": "Restricted substances", "13E": "Moisture level", "J": "Licence plate", "1J": "Licence plate",
    "3K": "Carrier's waybill", "2K": "Waybill", "4K": "Line of our order", "8K": "Contract", "10K": "Invoice",
    "15K": "Kanban", "27K": "Quotation", "L": "Storage location", "2L": "Ship to", "2P": "Revision", "1S": "Serial",
    "T": "Batch of ours", "Z": "Agreed between two firms",
}  # fmt: skip
"""What the identifiers mean that fill no field of ours (ASC MH10.8.2)."""


def looks_like_envelope(text: str) -> bool:
    """Tell whether a text begins as an ISO/IEC 15434 envelope does."""
    return text.startswith(ENVELOPE_HEADER)


def parse_envelope(text: str, raw: str, today: date) -> BagCode:
    """Read an envelope whose separators are real; `raw` is kept with the result.

    A field that cannot be right is left out, and said; of several formats all are read. Raises BadBagCode with a
    sentence for an envelope that is empty, has only another format, or lost its separators.
    """
    body = text.removeprefix(ENVELOPE_HEADER).rstrip(EOT + RS + GS + " \r\n")
    formats = [part for part in body.split(RS) if part.strip(GS)]
    reading = BagCodeBuilder(raw, "GS1" if all(part[:2] == "05" for part in formats or [""]) else "MH10.8.2", today)
    for part in formats or [""]:
        _parse_format(part.lstrip(GS), reading, only=len(formats) < 2)
    _apply_date_code(reading)
    return reading.result()


def _parse_format(text: str, reading: BagCodeBuilder, *, only: bool) -> None:
    """Read one format of an envelope; one that cannot be read is kept as it is, unless it is the only one."""
    kind, rest = text[:2], text[2:].lstrip(GS)
    if kind == "05":
        read_elements(rest, reading)
    elif kind == "06" and rest and GS not in text:
        raise BadBagCode(LOST_SEPARATORS)
    elif kind == "06":
        read_fields(rest, reading)
    elif only:
        raise BadBagCode(f"This envelope holds format {kind or 'none'!r}; only 05 and 06 can be read: type the bag.")
    else:
        reading.other(f"format {kind}", "Another part of the code", rest.replace(GS, " ").strip() or text)


def read_fields(text: str, reading: BagCodeBuilder) -> None:
    """Read fields with their data identifiers into a bag code that may hold more already."""
    for field in text.split(GS):
        if field.strip():
            _parse_field(field.strip(), reading)


def parse_fields(text: str, raw: str, today: date) -> BagCode:
    """Read fields that came without an envelope."""
    reading = BagCodeBuilder(raw, "MH10.8.2", today)
    read_fields(text, reading)
    _apply_date_code(reading)
    return reading.result()


def looks_like_fields(text: str) -> bool:
    """Tell whether a text is fields without an envelope: at least two that we know, a part number among them."""
    matches = [_FIELD_PATTERN.fullmatch(field.strip()) for field in text.strip(GS).split(GS)]
    identifiers = {match[1] for match in matches if match and match[2]}
    known = identifiers & (_TEXT_FIELDS.keys() | _DATE_FIELDS.keys() | {"Q", "7Q"})
    return len(matches) > 1 and all(matches) and len(known) > 1 and bool(known & _PART_NUMBERS)


def _parse_field(text: str, reading: BagCodeBuilder) -> None:
    match = _FIELD_PATTERN.fullmatch(text)
    if match is None:
        reading.unread(
            "", f"The field {text[:30]!r} begins with no data identifier and was left out: look at the bag."
        )
        return
    identifier, value = match[1], match[2].strip()
    if not value:
        return
    if identifier == "Q":
        reading.count(value)
    elif identifier == "7Q":
        _parse_measure(value, reading)
    elif identifier in _DATE_FIELDS:
        name, what, form = _DATE_FIELDS[identifier]
        reading.day(name, lambda: _parse_day(value, what, form))
    elif identifier in _QUALIFIED_DATES and value[-3:] in _DATE_QUALIFIERS:
        name, what = _DATE_QUALIFIERS[value[-3:]]
        form = _QUALIFIED_DATES[identifier]
        reading.day(name, lambda: _parse_day(_with_century(value[:-3], form, reading.today), what, "YYYYMMDD"))
    elif identifier == "13D" and re.fullmatch(r"\d{8}", value, re.ASCII):
        reading.note("date_code", value[4:])
        reading.doubt(f"It holds weeks {value[:4]} to {value[4:]}: the newer is taken, look at what is inside.")
    elif identifier == "14K":
        reading.note("order", value.partition("+")[0])
        reading.other("14K", "Line of our order", value.partition("+")[2])
    elif identifier in _TEXT_FIELDS:
        reading.note(_TEXT_FIELDS[identifier], value)
    else:
        reading.other(identifier, _MEANINGS.get(identifier, ""), value)


def _parse_measure(value: str, reading: BagCodeBuilder) -> None:
    """Read an amount followed by the two characters of its unit (ANSI X12 data element 355)."""
    match = re.fullmatch(r"([\d.,]+) ?([A-Za-z0-9]{1,3})", value, re.ASCII)
    if match is None:
        reading.unread("quantity", f"The quantity {value[:30]!r} has no unit that can be read: read the bag.")
    else:
        reading.measure(match[1], match[2])


def _parse_day(value: str, what: str, form: str) -> date:
    if not re.fullmatch(r"\d{8}", value, re.ASCII):
        raise BadBagCode(f"{value[:20]!r} is no {what} ({form}): read the bag and type it.")
    year, month, day = form.index("YYYY"), form.index("MM"), form.index("DD")
    return parse_day(
        int(value[year : year + 4]), int(value[month : month + 2]), int(value[day : day + 2]), value, what
    )


def _with_century(value: str, form: str, today: date) -> str:
    """Return a day as YYYYMMDD; one of another shape as it is."""
    if form == "YYMMDD" and re.fullmatch(r"\d{6}", value, re.ASCII):
        return f"{full_year(int(value[:2]), today)}{value[2:]}"
    return value


def _apply_date_code(reading: BagCodeBuilder) -> None:
    """Take the week of a date code of four or six digits for the making; other date codes are kept as they are."""
    date_code = reading.get("date_code")
    if not re.fullmatch(r"\d{4}|\d{6}", date_code, re.ASCII):
        return
    try:
        week = parse_date_code(date_code, reading.today)
    except BadBagCode as bad:
        reading.doubt(str(bad))
    else:
        if not reading.get("made"):
            reading.note("made", week)


def build_envelope(texts: Iterable[str]) -> str:
    """Put fields that were bar codes of their own into one envelope, as older bags carry them.

    Texts that begin with no identifier of electronics bags are left out; "" unless a part number and one more
    field are left. The first of each identifier counts.
    """
    fields: dict[str, str] = {}
    for text in texts:
        match = _FIELD_PATTERN.fullmatch(text.strip())
        if (
            match
            and match[2]
            and (match[1] in _TEXT_FIELDS or match[1] in _DATE_FIELDS or re.fullmatch(r"Q\d{1,9}", text.strip()))
        ):
            fields.setdefault(match[1], text.strip())
    if len(fields) < 2 or not fields.keys() & _PART_NUMBERS:
        return ""
    return f"{ENVELOPE_HEADER}{RS}06{GS}{GS.join(fields.values())}{RS}{EOT}"
