"""Checks of typed values and of versions that every activity shares."""

from __future__ import annotations

from datetime import date
from typing import Any, TypeVar

from inventory.domain.common.errors import Invalid, NotFound, Stale, invalid_field
from inventory.reckoning.reorder.service_level import ServiceMeasure
from inventory.store.queries import get_by_id, update_row
from inventory.store.tables import Table

T = TypeVar("T", bound=Table)

MAX_QUANTITY = 1_000_000_000  # base units in one movement; more is a slip of the finger
PART_KINDS = ("connector", "fan", "supply", "consumable", "module", "hardware", "other")
KEPT_MODES = ("counted", "individually", "by level")
PROMISES = tuple(one.value for one in ServiceMeasure)
LOT_ORIGINS = ("delivery", "donor", "left over", "found")


def validated_quantity(quantity: Any, *, allow_zero: bool = False) -> int:
    """Return *quantity* when it is a whole number from 1 (or 0) to a thousand million; else raise Invalid."""
    if isinstance(quantity, bool) or not isinstance(quantity, int):
        raise _invalid_quantity("Type a whole number, such as 1.")
    if quantity < 0 or (quantity == 0 and not allow_zero):
        raise _invalid_quantity(f"{quantity} is too few: type {'0' if allow_zero else '1'} or more.")
    if quantity > MAX_QUANTITY:
        raise _invalid_quantity(f"{quantity} is too many to be right: type at most {MAX_QUANTITY}.")
    return quantity


def validated_money(value: Any, name: str, most: int = MAX_QUANTITY * 1000) -> int:
    """Return *value* when it can be a sum of money, whole minor units from 0 to *most*; else raise Invalid."""
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise invalid_field(name, f"The {name.removesuffix('_minor')} must be a sum from 0 on, in whole minor units.")
    return value


def _invalid_quantity(sentence: str) -> Invalid:
    return Invalid(sentence, reason="bad_quantity", errors={"quantity": [sentence]})


def clean_text(text: Any, name: str, most: int, *, required: bool = False) -> str:
    """Return *text* without surrounding space or control characters, at most *most* long; else raise Invalid."""
    if not isinstance(text, str):
        raise _invalid_text(name, f"The {name} must be text.")
    kept = "".join(c for c in text if c.isprintable() or c in "\n\t").strip()
    if required and not kept:
        raise _invalid_text(name, f"The {name} is missing: type one.")
    if len(kept) > most:
        raise _invalid_text(name, f"The {name} is {len(kept)} characters long: shorten it to {most}.")
    return kept


def _invalid_text(name: str, sentence: str) -> Invalid:
    return Invalid(sentence, errors={name.replace(" ", "_"): [sentence]})


def validated_year(day: date | None, name: str) -> date | None:
    """Return *day* when its year can be right for stock; else raise Invalid naming the field *name*."""
    if day is not None and not 2000 <= day.year <= 2100:
        raise _invalid_text(name, f"The {name} {day} cannot be right: check the year.")
    return day


def validated_choice(value: Any, name: str, allowed: tuple[str, ...]) -> str:
    """Return *value* when it is among *allowed*; else raise Invalid."""
    if value not in allowed:
        raise _invalid_text(name, f"The {name} must be one of: {', '.join(allowed)}.")
    return str(value)


def parse_id(text: str, *, max_digits: int = 9) -> int | None:
    """Return the number that *text* writes in ASCII digits, at most *max_digits* of them; None for anything else.

    ``str.isdigit`` alone takes digits that ``int`` refuses, such as a superscript two. Nine digits fit every id.
    """
    return int(text) if text.isascii() and text.isdigit() and len(text) <= max_digits else None


def is_valid_id(key: Any) -> bool:
    """Tell whether *key* can be a row's id: what cannot, the databases refuse each in their own way."""
    return isinstance(key, int) and 0 < key < 2**31


def get_row(table: type[T], key: Any, what: str) -> T:
    """Return the row of *table* with the id *key*; raise NotFound naming *what* it should have been."""
    found: T | None = get_by_id(table, key) if is_valid_id(key) else None
    if found is None:
        raise NotFound(f"There is no {what} {key}. It may have been typed wrongly.")
    return found


def update_versioned(found: Any, what: str, version: int | None, /, **changes: Any) -> None:
    """Change a row and raise its version, if it still has *version* (None: whatever it has).

    Raises Stale when somebody else was faster.
    """
    if update_row(type(found), found.id, changes, found.version if version is None else version) != 1:
        raise Stale(f"Somebody changed this {what} since you opened it: look at it again, then repeat your edit.")
