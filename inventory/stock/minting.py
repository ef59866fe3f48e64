"""Gives new things their scannable codes."""

from __future__ import annotations

from typing import Any

from inventory.store.binding import writing
from shared.codes import new_code


def fresh_code(table: Any, kind: str) -> str:
    """Draw a code that no row of *table* has. Call it inside the transaction that keeps it."""
    with writing():
        while True:
            code = new_code(kind)
            if not table.select(table.id).where(table.code == code).exists():
                return code
