"""Draws the scannable codes of new things."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from inventory.store.connection import transaction
from inventory.store.queries import find_by_values
from shared.codes import generate_code

_choose_character: Callable[[Sequence[str]], str] = secrets.choice


def unused_code(table: Any, kind: str) -> str:
    """Draw a code that no row of *table* has. Call it inside the transaction that inserts it."""
    with transaction():
        while True:
            code = generate_code(kind, _choose_character)
            if find_by_values(table, {"code": code}) is None:
                return code


@contextmanager
def use_code_chooser(choose: Callable[[Sequence[str]], str]) -> Iterator[None]:
    """Let *choose* pick the characters of new codes in the block: the demo bench is the same every time.

    It acts on the whole process: nothing else may be created while a bench is loaded.
    """
    global _choose_character
    before, _choose_character = _choose_character, choose
    try:
        yield
    finally:
        _choose_character = before
