"""Readings against limits, exactly: every number is decimal text, none passes through a binary fraction."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from decimal import Decimal
from typing import Any

from inventory.domain.catalogue.attributes import ATTRIBUTES
from inventory.domain.common.errors import Conflict, DomainError, Invalid
from inventory.domain.proof.proof_records import CheckRecord, ReadingRecord

MAX_READING = Decimal(10) ** 9  # no instrument of a bench reads more, in any unit
TACH_PULSES_PER_REVOLUTION = (
    2  # a revolution: 4-Wire Pulse Width Modulation Controlled Fans Specification, rev. 1.3 (2005)
)

_NUMBER = re.compile(r"[+-]?(?:\d{1,12}(?:\.\d{1,9})?|\.\d{1,9})", re.ASCII)
_NUMBER_WITH_UNIT = re.compile(r"\s*([+\-\u2212]?[\d.,]+)\s*((?![eE][+-]?\d)[^\d\s.,].*?)\s*", re.ASCII)
_AMBIGUOUS_COMMA = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)


def parse_decimal(value: Any, name: str) -> Decimal:
    """Return decimal text (or a whole number) as it stands; raise Invalid naming *name* for anything else.

    `,` serves as decimal sign too. Not a number, a power of ten, or more than a thousand million is refused.
    """
    text = _normalized_text(value, name)
    if _AMBIGUOUS_COMMA.fullmatch(text):
        raise _invalid_reading(name, f"{text} can be read in two ways: write it without the comma, or with a point.")
    text = text.replace(",", ".")
    if not _NUMBER.fullmatch(text):
        raise _invalid_reading(
            name, f"{_quoted_text(text)} is not a reading: type digits with at most one point, such as 12.05."
        )
    number = Decimal(text)
    if abs(number) > MAX_READING:
        raise _invalid_reading(name, f"{_quoted_text(text)} cannot be right: look for a digit too many.")
    return number


def _normalized_text(value: Any, name: str) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | Decimal):
        raise _invalid_reading(name, "Type the number as text, so that it stays exact.")
    return unicodedata.normalize("NFKC", str(value)).replace("\u2212", "-").strip()


def _quoted_text(text: str) -> str:
    return repr(text if len(text) <= 30 else f"{text[:30]}…")


def _invalid_reading(name: str, sentence: str) -> Invalid:
    return Invalid(f"{name}: {sentence}", reason="bad_reading", errors={name: [sentence]})


def format_decimal(number: Decimal) -> str:
    """Write a number without an exponent and without zeros at its end."""
    return f"{number.normalize():f}"


def tach_rpm(hertz: Any, pulses: int = TACH_PULSES_PER_REVOLUTION) -> Decimal:
    """Return the speed in turns a minute that a tach signal of *hertz* stands for: rpm = 60 f / pulses.

    Source: 4-Wire Pulse Width Modulation Controlled Fans Specification, rev. 1.3: two pulses a revolution.
    """
    return 60 * parse_decimal(hertz, "Tach frequency") / pulses


def limits_for_part(check: CheckRecord, part: Any) -> CheckRecord:
    """Return *check* with its limits worked out for *part* (row or record).

    Raises Conflict when the limits are shares of a rating that the part does not state.
    """
    if not check.times_rated:
        return check
    rated = part.attributes.get(check.times_rated)
    if rated is None:
        raise Conflict(
            f"{part.name} does not state its {rating_name(part.kind, check.times_rated)}, which {check.name} is "
            "held against: type it on the part's page first.",
            reason="not_rated", attribute=check.times_rated,
        )  # fmt: skip
    scale = Decimal(str(rated))  # attributes are kept as the shortest text of their number, so this is exact
    low, high = (_scaled_limit(share, scale) if share else "" for share in (check.low, check.high))
    return replace(check, low=low, high=high)


def _scaled_limit(share: str, scale: Decimal) -> str:
    """Return a limit to a thousand-millionth of its unit, finer than any bench reads."""
    return format_decimal((Decimal(share) * scale).quantize(Decimal("1e-9")))


def rating_name(kind: str, key: str) -> str:
    """Return what people call an attribute, such as "rated current"."""
    return next((attribute.label.lower() for attribute in ATTRIBUTES.get(kind, ()) if attribute.key == key), key)


def judge_reading(check: CheckRecord, reading: Mapping[str, Any]) -> ReadingRecord:
    """Hold one reading (``value`` and ``unit``) against a check whose limits are worked out.

    A reading at a limit is inside. Raises Invalid for another unit, or for what is no reading.
    """
    if check.yes_or_no:
        return _yes_no_reading(check, reading.get("value"))
    unit = reading.get("unit") or ""
    if unit != check.unit:
        raise _invalid_reading(check.name, _wrong_unit_message(check, unit))
    number = parse_decimal(reading.get("value"), check.name)
    shown = f"{number:f}"
    words = f"{check.name} {shown} {check.unit}".strip()
    if check.low and number < Decimal(check.low):
        return _reading_record(check, shown, False, f"{words} is below {check.low} {check.unit}".strip())
    if check.high and number > Decimal(check.high):
        return _reading_record(check, shown, False, f"{words} is above {check.high} {check.unit}".strip())
    return _reading_record(check, shown, True, words)


def _wrong_unit_message(check: CheckRecord, unit: Any) -> str:
    if not unit:
        return f"Say the unit of the reading; this check is in {check.unit or 'plain numbers'}."
    return (
        f"This check is in {check.unit or 'plain numbers'}, "
        f"not in {_quoted_text(str(unit))}: convert the reading first."
    )


def _yes_no_reading(check: CheckRecord, value: Any) -> ReadingRecord:
    answer = {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value).strip().lower()
    if answer not in ("yes", "no"):
        raise _invalid_reading(check.name, "Answer yes or no.")
    return _reading_record(check, answer, answer == "yes", f"{check.name}: {answer}")


def _reading_record(check: CheckRecord, value: str, passed: bool, says: str) -> ReadingRecord:
    return ReadingRecord(check.position, check.name, check.unit, value, check.low, check.high, passed, says)


def stored_reading(reading: ReadingRecord) -> dict[str, Any]:
    """Return the columns in which a judged reading is stored; its words are worked out again when it is read."""
    return {name: value for name, value in asdict(reading).items() if name != "says"}


def describe_reading(row: Any) -> str:
    """Put a kept reading in words, as ``judge_reading`` did."""
    check = CheckRecord(row.position, row.name, row.unit, row.low, row.high, "")
    return judge_reading(check, {"value": row.value, "unit": row.unit}).says


# ---- a whole test ----------------------------------------------------------------------------------------


def judge_readings(checks: Sequence[CheckRecord], readings: Sequence[Mapping[str, Any]]) -> list[ReadingRecord]:
    """Judge all readings of a test; refuse all that are wrong at once, so that a form can be corrected in one go."""
    by_name = {check.name: check for check in checks}
    judged: dict[str, ReadingRecord] = {}
    refused: list[DomainError] = []
    for reading in readings:
        name = reading.get("name")
        try:
            if name not in by_name or name in judged:
                raise _unknown_check_error(name, twice=name in judged, known=by_name)
            judged[str(name)] = judge_reading(by_name[name], reading)
        except Invalid as bad:
            refused.append(bad)
    if refused:
        errors = {key: text for bad in refused if isinstance(bad, Invalid) for key, text in bad.errors.items()}
        raise Invalid(" ".join(bad.sentence for bad in refused), reason="bad_reading", errors=errors)
    return sorted(judged.values(), key=lambda record: record.position)


def _unknown_check_error(name: Any, *, twice: bool, known: Mapping[str, CheckRecord]) -> Invalid:
    sentence = f"{name}: read it once." if twice else f"There is no check {name!r}: read {', '.join(known)}."
    return Invalid(sentence, reason="bad_reading", errors={str(name): [sentence]})


def missing_readings_error(checks: Sequence[CheckRecord], judged: Sequence[ReadingRecord]) -> Invalid:
    """Return the refusal of a test that passed with checks that were not read."""
    names_read = {record.name for record in judged}
    names = [check.name for check in checks if check.name not in names_read]
    return Invalid(
        f"Still to read: {', '.join(names)}. A test may stop early only where a reading failed.",
        reason="reading_missing", errors={name: ["Read it."] for name in names},
    )  # fmt: skip


def parse_typed_readings(checks: Sequence[CheckRecord], texts: Mapping[int, str]) -> list[dict[str, str]]:
    """Return the readings that were typed by position, each a number with or without its unit; blank: not read."""
    return [
        _parse_typed_reading(check, texts[check.position])
        for check in checks
        if texts.get(check.position, "").strip()
    ]


def _parse_typed_reading(check: CheckRecord, text: str) -> dict[str, str]:
    """Split "12.05 V" into value and unit; a bare number is in the unit that the check asks for."""
    match = None if check.yes_or_no else _NUMBER_WITH_UNIT.fullmatch(text)
    if match is None:
        return {"name": check.name, "value": text.strip(), "unit": check.unit}
    return {"name": check.name, "value": match[1], "unit": match[2]}
