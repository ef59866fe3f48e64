"""Checks of input values and of versions that every room shares."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from typing import Any, TypeVar

from peewee import IntegrityError

from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale, invalid_field
from inventory.reckoning.reorder.service_level import ServiceMeasure
from inventory.store.queries import get_by_id, update_row
from inventory.store.tables import Table

T = TypeVar("T", bound=Table)

MAX_QUANTITY = 1_000_000_000  # base units in one movement; more is a typing slip
PART_KINDS = ("connector", "fan", "supply", "consumable", "module", "hardware", "other")
KEPT_MODES = ("counted", "individually", "by level")
MIN_TARGET, MAX_TARGET = 0.5, 0.999  # the share of a promise that is to be kept
PROMISES = tuple(measure.value for measure in ServiceMeasure)
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


def validated_number(
    value: Any, field: str, low: float, high: float, sentence: str = "", *, whole: bool = True, optional: bool = False
) -> Any:
    """Return *value* when it is a number from *low* to *high*, a *whole* one or any; else raise Invalid.

    With *optional*, None passes. *sentence* is what the refusal says of the *field*.
    """
    if optional and value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int if whole else int | float) or not low <= value <= high:
        raise invalid_field(
            field, sentence or f"The {field.replace('_', ' ')} must be a number from {low} to {high}."
        )
    return value if whole else float(value)


def validated_money(value: Any, name: str, most: int = MAX_QUANTITY * 1000) -> int:
    """Return *value* when it can be a sum of money, whole minor units from 0 to *most*; else raise Invalid."""
    sentence = f"The {name.removesuffix('_minor')} must be a sum from 0 on, in whole minor units."
    return int(validated_number(value, name, 0, most, sentence))


def _invalid_quantity(sentence: str) -> Invalid:
    return Invalid(sentence, reason="bad_quantity", errors={"quantity": [sentence]})


def clean_text(text: Any, name: str, most: int, *, required: bool = False) -> str:
    """Return *text* without surrounding space or control characters, at most *most* long; else raise Invalid."""
    field = name.replace(" ", "_")
    if not isinstance(text, str):
        raise invalid_field(field, f"The {name} must be text.")
    cleaned = "".join(c for c in text if c.isprintable() or c in "\n\t").strip()
    if required and not cleaned:
        raise invalid_field(field, f"The {name} is missing: type one.")
    if len(cleaned) > most:
        raise invalid_field(field, f"The {name} is {len(cleaned)} characters long: shorten it to {most}.")
    return cleaned


def clean_texts(
    texts: Mapping[str, Any], limits: Mapping[str, int], required: Collection[str] = ()
) -> dict[str, str]:
    """Return the texts named in *limits*, each cleaned and at most so long; one that is left out is empty."""
    return {
        name: clean_text(texts.get(name, ""), name.replace("_", " "), most, required=name in required)
        for name, most in limits.items()
    }


def check_field_names(
    names: Iterable[str], allowed: Iterable[str], sentence: str, *, verdict: str = "unknown"
) -> None:
    """Raise Invalid when *names* has any that is not *allowed*; ``{}`` in *sentence* stands for those."""
    unknown = sorted(set(names) - set(allowed))
    if unknown:
        raise Invalid(sentence.format(", ".join(unknown)), errors={name: [verdict] for name in unknown})


@contextmanager
def conflict_if_taken(thing: str, way_out: str = "choose another name") -> Iterator[None]:
    """Turn the database's refusal of a second *thing* ("a bin A-1") into a Conflict that names the *way_out*."""
    try:
        yield
    except IntegrityError:
        raise Conflict(f"There is {thing} already: {way_out}.", reason="taken") from None


def validated_year(day: date | None, name: str) -> date | None:
    """Return *day* when its year can be right for stock; else raise Invalid naming the field *name*."""
    if day is not None and not 2000 <= day.year <= 2100:
        raise invalid_field(name.replace(" ", "_"), f"The {name} {day} cannot be right: check the year.")
    return day


def validated_choice(value: Any, name: str, allowed: tuple[str, ...]) -> str:
    """Return *value* when it is among *allowed*; else raise Invalid."""
    if value not in allowed:
        raise invalid_field(name.replace(" ", "_"), f"The {name} must be one of: {', '.join(allowed)}.")
    return str(value)


def parse_id(text: str, *, max_digits: int = 9) -> int | None:
    """Return the number that *text* writes in ASCII digits, at most *max_digits* of them; None for anything else.

    ``str.isdigit`` alone takes digits that ``int`` refuses, such as a superscript two. Nine digits fit every id.
    """
    return int(text) if text.isascii() and text.isdigit() and len(text) <= max_digits else None


def is_valid_id(key: Any) -> bool:
    """Tell whether *key* can be a row's id: ids out of range fail differently in each database."""
    return isinstance(key, int) and 0 < key < 2**31


def get_row(table: type[T], key: Any, what: str) -> T:
    """Return the row of *table* with the id *key*; raise NotFound naming *what* it should have been."""
    row: T | None = get_by_id(table, key) if is_valid_id(key) else None
    if row is None:
        raise NotFound(f"There is no {what} {key}. It may have been typed wrongly.")
    return row


def update_versioned(row: Any, what: str, version: int | None, /, **changes: Any) -> None:
    """Change *row* and raise its version, if it still has *version* (None: whatever it has).

    Raises Stale when somebody else changed it first.
    """
    if update_row(type(row), row.id, changes, row.version if version is None else version) != 1:
        raise Stale(f"Somebody changed this {what} since you opened it: look at it again, then repeat your edit.")
