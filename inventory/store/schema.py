"""Brings a database to the newest step, and says whether it is there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playhouse.migrations import Runner

from inventory.store.binding import database

STEPS = Path(__file__).parent / "steps"


def _runner() -> Any:
    return Runner(database.obj, directory=str(STEPS), table_name="schema_steps")


def bring_up() -> list[str]:
    """Apply every step that this database has not had; return their names."""
    return list(_runner().up())


def missing_steps() -> list[str]:
    """Name the steps that this database still lacks."""
    return [step.name for step in _runner().status() if step.applied is None]
