"""Suggests the next number of a part, in the way in which the bench has numbered its likes so far."""

from __future__ import annotations

import re

from inventory.store.binding import run

BEGIN = {
    "connector": "C-1001", "fan": "F-1001", "supply": "S-1001", "consumable": "U-1001", "module": "M-1001",
    "hardware": "H-1001", "other": "X-1001",
}  # fmt: skip
_COUNTED = re.compile(r"(.{0,40}?)([0-9]{1,9})")  # short enough to have room for one digit more
_LATEST = "SELECT number FROM parts WHERE kind = ? ORDER BY id DESC LIMIT 20"


def next_number(kind: str) -> str:
    """Return a number that no part has: counted on from the newest part of the *kind* whose number ends in digits."""
    latest = (_COUNTED.fullmatch(str(one)) for (one,) in run(_LATEST, kind).fetchall())
    start = next((found for found in latest if found), None)
    if start is None:
        begin = BEGIN[kind]
        return begin if not _taken(begin) else _counted_on(*_parts_of(begin))
    return _counted_on(*start.groups())


def _parts_of(number: str) -> tuple[str, str]:
    found = _COUNTED.fullmatch(number)
    assert found is not None
    return found[1], found[2]


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
