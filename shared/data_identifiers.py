"""Bag codes in an ISO/IEC 15434 envelope with ASC MH10.8.2 data identifiers, as ECIA EIGP 114 uses them.

An envelope is `[)>` RS `06` GS field GS field ... RS EOT; a field begins with its data identifier, at most
three digits and a letter. Format 05 holds GS1 element strings instead. A missing trailer is forgiven;
missing separators are not, because single letters such as P and Q are identifiers and stand within part
numbers as well.
"""

import re
from collections.abc import Iterable
from datetime import date

from shared.bag_code import BadBagCode, BagCode, BagCodeBuilder, parse_date_code, parse_day
from shared.gs1 import parse_element_string
from shared.scanner_input import EOT, GS, RS

ENVELOPE_HEADER = "[)>"

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

_DATE_FIELDS = {"16D": ("made", "day of making"), "14D": ("expires", "last day")}


def looks_like_envelope(text: str) -> bool:
    """Tell whether a text begins as an ISO/IEC 15434 envelope does."""
    return text.startswith(ENVELOPE_HEADER)


def parse_envelope(text: str, raw: str, today: date) -> BagCode:
    """Read an envelope whose separators are real; `raw` is kept with the result.

    A field that cannot be right is left out, and said. Raises BadBagCode with a sentence for an envelope that is
    empty, has another format, or lost its separators.
    """
    if text == text.lower():  # identifiers are capitals: the scanner's keyboard had them reversed
        text = text.upper()
    body = text.removeprefix(ENVELOPE_HEADER).lstrip(RS + GS).rstrip(EOT + RS + GS + " \r\n")
    kind, rest = body[:2], body[2:].lstrip(GS)
    if kind == "05":
        return parse_element_string(rest.split(RS)[0], raw, today)
    if kind != "06":
        raise BadBagCode(f"This envelope holds format {kind or 'none'!r}; only 05 and 06 can be read: type the bag.")
    if rest and GS not in body:
        raise BadBagCode(
            "The scanner left out the separators between the fields. Set it to type {GS} for them, or take a photo "
            "of the code."
        )
    reading = BagCodeBuilder(raw, "MH10.8.2", today)
    for field in rest.split(RS)[0].split(GS):
        if field.strip():
            _parse_field(field.strip(), reading)
    _apply_date_code(reading)
    return reading.result()


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
    elif identifier in _DATE_FIELDS:
        name, what = _DATE_FIELDS[identifier]
        reading.day(name, lambda: _parse_day(value, what))
    elif identifier in _TEXT_FIELDS:
        reading.note(_TEXT_FIELDS[identifier], value)
    else:
        reading.other(identifier, value)


def _parse_day(value: str, what: str) -> date:
    if not re.fullmatch(r"\d{8}", value, re.ASCII):
        raise BadBagCode(f"{value[:20]!r} is no {what} (YYYYMMDD): read the bag and type it.")
    return parse_day(int(value[:4]), int(value[4:6]), int(value[6:]), value, what)


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
    if len(fields) < 2 or not fields.keys() & {"P", "1P", "30P"}:
        return ""
    return f"{ENVELOPE_HEADER}{RS}06{GS}{GS.join(fields.values())}{RS}{EOT}"
