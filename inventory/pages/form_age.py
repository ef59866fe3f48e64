"""How long somebody had a form open: the page carries when it was made, the answer says how long ago that was."""

from __future__ import annotations

from inventory.domain.common import clock
from inventory.domain.common.validation import parse_id

MAX_MINUTES = 600.0  # beyond, somebody went home


def form_timestamp() -> str:
    """Return this moment as a form carries it."""
    return f"{clock.now().timestamp():.0f}"


def minutes_since(text: str) -> float | None:
    """Return the minutes since a form was made; None for what is no such moment, or too long ago."""
    made = parse_id(text, max_digits=12)
    if made is None:
        return None
    minutes = (clock.now().timestamp() - made) / 60.0
    return round(minutes, 2) if 0.0 <= minutes <= MAX_MINUTES else None
