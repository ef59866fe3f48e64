"""Suggests the next part number, continuing the numbers of the newest parts of its kind."""

from __future__ import annotations

import re
from itertools import count

from inventory.store.connection import execute

NUMBER_SEEDS = {
    "connector": "C-1000", "fan": "F-1000", "supply": "S-1000", "consumable": "U-1000", "module": "M-1000",
    "hardware": "H-1000", "other": "X-1000",
}  # fmt: skip
_NUMBER_PATTERN = re.compile(r"(.{0,40}?)([0-9]{1,9})")  # short enough to have room for one digit more
_LATEST_NUMBERS = "SELECT number FROM parts WHERE kind = ? ORDER BY id DESC LIMIT 20"


def next_number(kind: str) -> str:
    """Return a free number: the next after that of the newest part of the *kind* whose number ends in digits."""
    latest = [str(number) for (number,) in execute(_LATEST_NUMBERS, kind).fetchall()]
    counted = (_NUMBER_PATTERN.fullmatch(number) for number in (*latest, NUMBER_SEEDS[kind]))
    return _next_free_number(*next(match.groups() for match in counted if match))


def _next_free_number(before: str, digits: str) -> str:
    """Return the first free number after ``before`` + *digits*, with at least as many digits."""
    numbers = (f"{before}{number:0{len(digits)}}" for number in count(int(digits) + 1))
    return next(number for number in numbers if not _is_taken(number))


def _is_taken(number: str) -> bool:
    return execute("SELECT 1 FROM parts WHERE LOWER(number) = ?", number.lower()).fetchone() is not None
