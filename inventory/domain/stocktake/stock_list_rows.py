"""What one row of a stock list says: each cell by itself, checked as far as that goes without the bench."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inventory.domain.catalogue.parts import TEXT_LIMITS
from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.common.validation import KEPT_MODES, PART_KINDS, clean_text, parse_id, validated_year
from inventory.domain.stocktake.stock_list_columns import ATTRIBUTE_KEYS
from inventory.domain.stocktake.stock_list_records import RowFault
from inventory.domain.stocktake.stock_list_table import TableRow
from shared.hazards import HAZARDS
from shared.quantities import UNIT_FACTORS, BadQuantity, parse_money
from shared.text import quoted

_KEPT_WORDS = {mode: mode for mode in KEPT_MODES} | {"each with its own label": "individually"}
_YES, _NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0", "")
_ISO_DATE, _DOTTED_DATE = re.compile(r"(\d{4})[-/](\d\d?)[-/](\d\d?)"), re.compile(r"(\d\d?)\.(\d\d?)\.(\d{4})")
_SLASHED_DATE = re.compile(r"(\d\d?)/(\d\d?)/(\d{4})")
_HAZARD_WORDS = {one.title.casefold(): key for key, one in HAZARDS.items()} | {key: key for key in HAZARDS}
MAX_WALK = 1_000_000


@dataclass
class ParsedRow:
    """What a row says: of a part, of a bin, of an offer. ``wrong`` are its faults, ``notes`` what to know of it."""

    row: int
    headings: Mapping[str, str]
    part: dict[str, Any] = field(default_factory=dict)  # texts, kind, kept and hazards as a part keeps them
    attributes: dict[str, str] = field(default_factory=dict)
    unit: str = ""  # as written: m is a length, and numbers without a unit are then metres
    level: str = ""
    bin: str = ""
    mixed: bool = False
    walk: int | None = None
    quantity: str = ""
    best_before: date | None = None
    supplier: str = ""
    supplier_number: str = ""
    price_minor: int | None = None
    pack: str = ""
    wrong: list[RowFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def fault(self, key: str, sentence: str) -> None:
        """Note what is wrong with a cell; *key* is its column, empty for the row as a whole."""
        self.wrong.append(RowFault(self.row, self.headings.get(key, key), sentence))

    def wrongly(self, key: str) -> bool:
        """Tell whether the cell in column *key* is wrong."""
        return any(fault.heading == self.headings.get(key) for fault in self.wrong)

    @contextmanager
    def cell(self, key: str) -> Iterator[None]:
        """Turn a refusal within the block into a fault of the cell in column *key*. Nothing may be written in it."""
        try:
            yield
        except DomainError as refused:
            self.fault(key, refused.sentence)
        except BadQuantity as bad:
            self.fault(key, str(bad))


def parse_row(row: TableRow, headings: Mapping[str, str], currency: str) -> ParsedRow:
    """Read the cells of a row; prices are in *currency*."""
    parsed = ParsedRow(row.number, headings)
    if row.beyond:
        parsed.fault("", "There is more here than there are headings: a comma within a cell needs quotes around it.")
    for key, text in row.cells.items():
        with parsed.cell(key):
            _parse_cell(parsed, key, text, currency)
    return parsed


def _parse_cell(parsed: ParsedRow, key: str, text: str, currency: str) -> None:
    if key in ATTRIBUTE_KEYS:
        parsed.attributes[key] = text
    elif key in TEXT_LIMITS:
        parsed.part[key] = clean_text(text, key.replace("_", " "), TEXT_LIMITS[key])
    elif key in _PART_PARSERS:
        parsed.part[key] = _PART_PARSERS[key](text)
    elif key == "price":
        parsed.price_minor = parse_money(text, currency)
    else:
        setattr(parsed, key, _OTHER_PARSERS[key](text))


# ---- cells that are no plain text --------------------------------------------------------------------------


def _parse_choice(text: str, words: Mapping[str, str], name: str) -> str:
    choice = words.get(" ".join(text.casefold().replace("_", " ").split()))
    if choice is None:
        choices = ", ".join(dict.fromkeys(words.values()))
        raise Invalid(f"{_quoted(text)} is no {name}: write one of {choices}.")
    return choice


def _quoted(text: str) -> str:
    return quoted(re.sub(r"\s", " ", text), 30)


def _parse_hazards(text: str) -> list[str]:
    if text.casefold() == "none":
        return []
    return [
        _parse_choice(word, _HAZARD_WORDS | {key.replace("_", " "): key for key in HAZARDS}, "hazard")
        for word in _split(text)
    ]


def _split(text: str) -> list[str]:
    return [part.strip() for part in re.split("[,;/\n]", text) if part.strip()]


def _parse_unit(text: str) -> str:
    """Return a unit as people write it: one that is a base unit, or one that says how bare numbers are meant."""
    written = text.casefold()
    if not any(written in units for units in UNIT_FACTORS.values()):
        raise Invalid(f"{_quoted(text)} is no unit: write one of {', '.join(UNIT_FACTORS)}, or m, l or kg.")
    return written


def base_unit(written: str) -> str:
    """Return the base unit in which a part is kept whose unit was *written* so: mm for m."""
    return (
        written if written in UNIT_FACTORS else next(base for base, units in UNIT_FACTORS.items() if written in units)
    )


def _parse_yes_no(text: str) -> bool:
    if text.casefold() in _YES:
        return True
    if text.casefold() in _NO:
        return False
    raise Invalid(f"{_quoted(text)} is neither yes nor no: write one of them.")


def _parse_walk(text: str) -> int:
    walk = parse_id(text, max_digits=8)
    if walk is None or walk > MAX_WALK:
        raise Invalid(f"{_quoted(text)} is no place in the walk: write a whole number up to {MAX_WALK}.")
    return walk


def _parse_date(text: str) -> date | None:
    """Read a day; one with slashes is refused where two countries read two days."""
    slashes = _SLASHED_DATE.fullmatch(text)
    if match := _ISO_DATE.fullmatch(text):
        year, month, day = map(int, match.groups())
    elif match := _DOTTED_DATE.fullmatch(text):
        day, month, year = map(int, match.groups())
    elif slashes and (max(int(slashes[1]), int(slashes[2])) > 12 or slashes[1] == slashes[2]):
        small, large = sorted((int(slashes[1]), int(slashes[2])))
        day, month, year = large, small, int(slashes[3])
    else:
        again = "can be read in two ways" if slashes else "is no day"
        raise Invalid(f"{_quoted(text)} {again}: write year-month-day, such as 2027-03-31.")
    try:
        return validated_year(date(year, month, day), "day")
    except ValueError:
        raise Invalid(f"{_quoted(text)} is no day: write year-month-day, such as 2027-03-31.") from None


def _text_parser(name: str, most: int) -> Callable[[str], str]:
    return lambda text: clean_text(text, name, most)


_PART_PARSERS: dict[str, Callable[[str], Any]] = {
    "kind": lambda text: _parse_choice(text, {kind: kind for kind in PART_KINDS}, "kind"),
    "kept": lambda text: _parse_choice(text, _KEPT_WORDS, "way to keep a part"),
    "hazards": _parse_hazards,
}
_OTHER_PARSERS: dict[str, Callable[[str], Any]] = {
    "unit": _parse_unit,
    "level": str,
    "bin": _text_parser("name", 60),
    "mixed": _parse_yes_no,
    "walk": _parse_walk,
    "quantity": str,
    "best_before": _parse_date,
    "supplier": _text_parser("name", 120),
    "supplier_number": _text_parser("supplier number", 120),
    "pack": str,
}
