"""Gives new things their scannable codes."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from inventory.store.connection import writing
from inventory.store.queries import by_values
from shared.codes import new_code

_choose: Callable[[Sequence[str]], str] = secrets.choice


def fresh_code(table: Any, kind: str) -> str:
    """Draw a code that no row of *table* has. Call it inside the transaction that keeps it."""
    with writing():
        while True:
            code = new_code(kind, _choose)
            if by_values(table, {"code": code}) is None:
                return code


@contextmanager
def drawn_by(choose: Callable[[Sequence[str]], str]) -> Iterator[None]:
    """Let *choose* pick the characters of new codes in the block: the demo bench is the same every time.

    It acts on the whole process; nobody else makes things while a bench is loaded into an empty database.
    """
    global _choose
    before, _choose = _choose, choose
    try:
        yield
    finally:
        _choose = before
