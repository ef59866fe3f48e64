"""Facts about the bench as a whole, each kept under a name as JSON."""

from __future__ import annotations

import json
from typing import Any

from inventory.store.connection import run
from inventory.store.tables import SchemaNote


def keep_note(name: str, value: Any) -> None:
    """Keep a *value* under a *name*, in place of what is there; None keeps nothing under it."""
    if value is None:
        run("DELETE FROM notes WHERE name = ?", name)
        return
    run(
        "INSERT INTO notes (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
        *(name, json.dumps(value, sort_keys=True)),
    )


def note(name: str) -> Any:
    """Return what is kept under a *name*; None: nothing is."""
    found = run("SELECT value FROM notes WHERE name = ?", name).fetchone()
    return None if found is None else json.loads(found[0])


def notes_under(prefix: str) -> dict[str, Any]:
    """Return what is kept under the names that begin with a *prefix*, by the rest of the name."""
    rows = SchemaNote.select().where(SchemaNote.name.startswith(prefix))
    return {one.name.removeprefix(prefix): json.loads(one.value) for one in rows}
