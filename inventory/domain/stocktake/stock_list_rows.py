"""What one row of a stock list says: each cell by itself, checked as far as that goes without the bench."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inventory.domain.catalogue.parts import TEXTS
from inventory.domain.common.errors import Invalid, Refused
from inventory.domain.common.validation import KEPT, KINDS, clean, plausible_day
from inventory.domain.stocktake.stock_list_columns import ATTRIBUTE_KEYS
from inventory.domain.stocktake.stock_list_records import Fault
from inventory.domain.stocktake.stock_list_table import Row
from shared.hazards import HAZARDS
from shared.quantities import UNITS, BadQuantity, parse_money

_KEPT = {one: one for one in KEPT} | {"each with its own label": "individually"}
_YES, _NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0", "")
_ISO, _POINTS = re.compile(r"(\d{4})[-/](\d\d?)[-/](\d\d?)"), re.compile(r"(\d\d?)\.(\d\d?)\.(\d{4})")
_SLASHES = re.compile(r"(\d\d?)/(\d\d?)/(\d{4})")
_HAZARDS = {one.title.casefold(): key for key, one in HAZARDS.items()} | {key: key for key in HAZARDS}
MOST_WALK = 1_000_000


@dataclass
class Said:
    """What a row says: of a part, of a bin, of an offer. ``wrong`` are its faults, ``mind`` what to know of it."""

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
    wrong: list[Fault] = field(default_factory=list)
    mind: list[str] = field(default_factory=list)

    def fault(self, key: str, sentence: str) -> None:
        """Note what is wrong with a cell; *key* is its column, empty for the row as a whole."""
        self.wrong.append(Fault(self.row, self.headings.get(key, key), sentence))

    def wrongly(self, key: str) -> bool:
        """Tell whether the cell in column *key* is wrong."""
        return any(one.heading == self.headings.get(key) for one in self.wrong)

    @contextmanager
    def cell(self, key: str) -> Iterator[None]:
        """Turn a refusal within the block into a fault of the cell in column *key*. Nothing may be written in it."""
        try:
            yield
        except Refused as refused:
            self.fault(key, refused.sentence)
        except BadQuantity as bad:
            self.fault(key, str(bad))


def said(row: Row, headings: Mapping[str, str], currency: str) -> Said:
    """Read the cells of a row; prices are in *currency*."""
    made = Said(row.number, headings)
    if row.beyond:
        made.fault("", "There is more here than there are headings: a comma within a cell needs quotes around it.")
    for key, text in row.cells.items():
        with made.cell(key):
            _read(made, key, text, currency)
    return made


def _read(made: Said, key: str, text: str, currency: str) -> None:
    if key in ATTRIBUTE_KEYS:
        made.attributes[key] = text
    elif key in TEXTS:
        made.part[key] = clean(text, key.replace("_", " "), TEXTS[key])
    elif key in _OF_PART:
        made.part[key] = _OF_PART[key](text)
    elif key == "price":
        made.price_minor = parse_money(text, currency)
    else:
        setattr(made, key, _OTHERS[key](text))


# ---- cells that are no plain text --------------------------------------------------------------------------


def _word(text: str, words: Mapping[str, str], name: str) -> str:
    found = words.get(" ".join(text.casefold().replace("_", " ").split()))
    if found is None:
        said = ", ".join(dict.fromkeys(words.values()))
        raise Invalid(f"{_shown(text)} is no {name}: write one of {said}.")
    return found


def _shown(text: str) -> str:
    kept = "".join(one if one.isprintable() else " " for one in text)
    return f"'{kept[:30]}…'" if len(kept) > 30 else f"'{kept}'"


def _hazards(text: str) -> list[str]:
    if text.casefold() == "none":
        return []
    return [_word(one, _HAZARDS | {key.replace("_", " "): key for key in HAZARDS}, "hazard") for one in _split(text)]


def _split(text: str) -> list[str]:
    return [one.strip() for one in re.split("[,;/\n]", text) if one.strip()]


def _unit(text: str) -> str:
    """Return a unit as people write it: one that is a base unit, or one that says how bare numbers are meant."""
    written = text.casefold()
    if not any(written in units for units in UNITS.values()):
        raise Invalid(f"{_shown(text)} is no unit: write one of {', '.join(UNITS)}, or m, l or kg.")
    return written


def base_unit(written: str) -> str:
    """Return the base unit in which a part is kept whose unit was *written* so: mm for m."""
    return written if written in UNITS else next(base for base, units in UNITS.items() if written in units)


def _yes(text: str) -> bool:
    if text.casefold() in _YES:
        return True
    if text.casefold() in _NO:
        return False
    raise Invalid(f"{_shown(text)} is neither yes nor no: write one of them.")


def _walk(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text[:9]) <= MOST_WALK and len(text) < 9):
        raise Invalid(f"{_shown(text)} is no place in the walk: write a whole number up to {MOST_WALK}.")
    return int(text)


def _day(text: str) -> date | None:
    """Read a day; one with slashes is refused where two countries read two days."""
    slashes = _SLASHES.fullmatch(text)
    if found := _ISO.fullmatch(text):
        year, month, day = map(int, found.groups())
    elif found := _POINTS.fullmatch(text):
        day, month, year = map(int, found.groups())
    elif slashes and (max(int(slashes[1]), int(slashes[2])) > 12 or slashes[1] == slashes[2]):
        small, large = sorted((int(slashes[1]), int(slashes[2])))
        day, month, year = large, small, int(slashes[3])
    else:
        again = "can be read in two ways" if slashes else "is no day"
        raise Invalid(f"{_shown(text)} {again}: write year-month-day, such as 2027-03-31.")
    try:
        return plausible_day(date(year, month, day), "day")
    except ValueError:
        raise Invalid(f"{_shown(text)} is no day: write year-month-day, such as 2027-03-31.") from None


def _text(name: str, most: int) -> Callable[[str], str]:
    return lambda text: clean(text, name, most)


_OF_PART: dict[str, Callable[[str], Any]] = {
    "kind": lambda text: _word(text, {one: one for one in KINDS}, "kind"),
    "kept": lambda text: _word(text, _KEPT, "way to keep a part"),
    "hazards": _hazards,
}
_OTHERS: dict[str, Callable[[str], Any]] = {
    "unit": _unit, "level": str, "bin": _text("name", 60), "mixed": _yes, "walk": _walk, "quantity": str,
    "best_before": _day, "supplier": _text("name", 120), "supplier_number": _text("supplier number", 120),
    "pack": str,
}  # fmt: skip
