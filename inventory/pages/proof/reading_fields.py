"""The fields in which readings are typed: reading-1, reading-2 and so on."""

from __future__ import annotations

from flask import request

READING_PREFIX = "reading-"


def readings_from_form() -> dict[int, str]:
    """Return what was typed, by the position of its check."""
    readings: dict[int, str] = {}
    for name, value in request.form.items():
        position = name.removeprefix(READING_PREFIX)
        if name.startswith(READING_PREFIX) and position.isascii() and position.isdigit() and len(position) < 4:
            readings[int(position)] = value
    return readings
