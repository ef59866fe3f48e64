"""A key-value store of JSON values in the database."""

from __future__ import annotations

import json
from typing import Any

from inventory.store.connection import execute
from inventory.store.tables import KeyValue


def set_value(name: str, value: Any) -> None:
    """Store a *value* under a *name*, replacing the old one; None deletes it."""
    if value is None:
        execute("DELETE FROM notes WHERE name = ?", name)
        return
    execute(
        "INSERT INTO notes (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
        *(name, json.dumps(value, sort_keys=True)),
    )


def get_value(name: str) -> Any:
    """Return the value under a *name*, or None."""
    row = execute("SELECT value FROM notes WHERE name = ?", name).fetchone()
    return None if row is None else json.loads(row[0])


def values_with_prefix(prefix: str) -> dict[str, Any]:
    """Return the values whose names begin with a *prefix*, by the rest of the name."""
    rows = KeyValue.select().where(KeyValue.name.startswith(prefix))
    return {row.name.removeprefix(prefix): json.loads(row.value) for row in rows}
