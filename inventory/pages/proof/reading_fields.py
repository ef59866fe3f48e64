"""The fields in which readings are typed: reading-1, reading-2 and so on."""

from __future__ import annotations

from flask import request

READING = "reading-"


def typed_readings() -> dict[int, str]:
    """Return what was typed, by the position of its check."""
    found: dict[int, str] = {}
    for name, value in request.form.items():
        position = name.removeprefix(READING)
        if name.startswith(READING) and position.isascii() and position.isdigit() and len(position) < 4:
            found[int(position)] = value
    return found
