"""Suggests the next number of a part, in the way in which the bench has numbered its likes so far."""

from __future__ import annotations

import re

from inventory.store.connection import run

BEFORE_THE_FIRST = {
    "connector": "C-1000", "fan": "F-1000", "supply": "S-1000", "consumable": "U-1000", "module": "M-1000",
    "hardware": "H-1000", "other": "X-1000",
}  # fmt: skip
_COUNTED = re.compile(r"(.{0,40}?)([0-9]{1,9})")  # short enough to have room for one digit more
_LATEST = "SELECT number FROM parts WHERE kind = ? ORDER BY id DESC LIMIT 20"


def next_number(kind: str) -> str:
    """Return a number that no part has: counted on from the newest part of the *kind* whose number ends in digits."""
    latest = [str(one) for (one,) in run(_LATEST, kind).fetchall()]
    counted = (_COUNTED.fullmatch(one) for one in (*latest, BEFORE_THE_FIRST[kind]))
    return _counted_on(*next(found.groups() for found in counted if found))


def _counted_on(before: str, digits: str) -> str:
    """Return the first free number after ``before`` + *digits*, with at least as many digits."""
    count = int(digits)
    while True:
        count += 1
        number = f"{before}{count:0{len(digits)}}"
        if not _taken(number):
            return number


def _taken(number: str) -> bool:
    return run("SELECT 1 FROM parts WHERE LOWER(number) = ?", number.lower()).fetchone() is not None
