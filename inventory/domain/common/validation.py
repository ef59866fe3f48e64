"""Checks of typed values and of versions that every activity shares."""

from __future__ import annotations

from datetime import date
from typing import Any, TypeVar

from inventory.domain.common.errors import Invalid, NotFound, Stale, bad_field
from inventory.reckoning.reorder.service_level import Promise
from inventory.store.queries import by_key, change
from inventory.store.tables import Table

T = TypeVar("T", bound=Table)

MOST = 1_000_000_000  # base units in one movement; more is a slip of the finger
KINDS = ("connector", "fan", "supply", "consumable", "module", "hardware", "other")
KEPT = ("counted", "individually", "by level")
PROMISES = tuple(one.value for one in Promise)
ORIGINS = ("delivery", "donor", "left over", "found")


def whole_quantity(quantity: Any, *, zero: bool = False) -> int:
    """Return *quantity* when it is a whole number from 1 (or 0) to a thousand million; else raise Invalid."""
    if isinstance(quantity, bool) or not isinstance(quantity, int):
        raise _bad_quantity("Type a whole number, such as 1.")
    if quantity < 0 or (quantity == 0 and not zero):
        raise _bad_quantity(f"{quantity} is too few: type {'0' if zero else '1'} or more.")
    if quantity > MOST:
        raise _bad_quantity(f"{quantity} is too many to be right: type at most {MOST}.")
    return quantity


def whole_money(value: Any, name: str, most: int = MOST * 1000) -> int:
    """Return *value* when it can be a sum of money, whole minor units from 0 to *most*; else raise Invalid."""
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise bad_field(name, f"The {name.removesuffix('_minor')} must be a sum from 0 on, in whole minor units.")
    return value


def _bad_quantity(sentence: str) -> Invalid:
    return Invalid(sentence, reason="bad_quantity", errors={"quantity": [sentence]})


def clean(text: Any, name: str, most: int, *, needed: bool = False) -> str:
    """Return *text* without surrounding space or control characters, at most *most* long; else raise Invalid."""
    if not isinstance(text, str):
        raise _bad_text(name, f"The {name} must be text.")
    kept = "".join(c for c in text if c.isprintable() or c in "\n\t").strip()
    if needed and not kept:
        raise _bad_text(name, f"The {name} is missing: type one.")
    if len(kept) > most:
        raise _bad_text(name, f"The {name} is {len(kept)} characters long: shorten it to {most}.")
    return kept


def _bad_text(name: str, sentence: str) -> Invalid:
    return Invalid(sentence, errors={name.replace(" ", "_"): [sentence]})


def plausible_day(day: date | None, name: str) -> date | None:
    """Return *day* when its year can be right for stock; else raise Invalid naming the field *name*."""
    if day is not None and not 2000 <= day.year <= 2100:
        raise _bad_text(name, f"The {name} {day} cannot be right: check the year.")
    return day


def one_of(value: Any, name: str, allowed: tuple[str, ...]) -> str:
    """Return *value* when it is among *allowed*; else raise Invalid."""
    if value not in allowed:
        raise _bad_text(name, f"The {name} must be one of: {', '.join(allowed)}.")
    return str(value)


def is_key(key: Any) -> bool:
    """Tell whether *key* can be a row's id: what cannot, the databases refuse each in their own way."""
    return isinstance(key, int) and 0 < key < 2**31


def row(table: type[T], key: Any, what: str) -> T:
    """Return the row of *table* with the id *key*; raise NotFound naming *what* it should have been."""
    found: T | None = by_key(table, key) if is_key(key) else None
    if found is None:
        raise NotFound(f"There is no {what} {key}. It may have been typed wrongly.")
    return found


def edit(found: Any, what: str, version: int | None, /, **changes: Any) -> None:
    """Change a row and raise its version, if it still has *version* (None: whatever it has).

    Raises Stale when somebody else was faster.
    """
    if change(type(found), found.id, changes, found.version if version is None else version) != 1:
        raise Stale(f"Somebody changed this {what} since you opened it: look at it again, then repeat your edit.")
