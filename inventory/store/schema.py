"""Brings a database to the newest state of its tables.

An empty database gets the tables as they are today, and every numbered step counts as done. A database that holds
something is changed by the steps it has not had, in order, by peewee's own runner. ``first.sql`` keeps the tables
as they were before the first step, so that tests can walk the whole way.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playhouse.migrations import Runner

from inventory.store.binding import database, is_sqlite, run, writing
from inventory.store.guards import put_up
from inventory.store.tables import OnceKey, all_tables

STEPS = Path(__file__).parent / "steps"
FIRST = STEPS / "first.sql"
_LOCK = 8017  # any fixed number: two processes that start at once on PostgreSQL take turns


def _runner() -> Any:
    return Runner(database.obj, directory=str(STEPS), table_name="schema_steps")


def bring_up() -> list[str]:
    """Make or change the tables; return the names of the steps applied now (none for a new database)."""
    with writing():
        if not is_sqlite():
            run("SELECT pg_advisory_xact_lock(?)", _LOCK)
        if not database.obj.table_exists("ledger_head"):
            OnceKey._meta.without_rowid = is_sqlite()  # PostgreSQL knows no such thing
            database.obj.create_tables(all_tables())
            put_up(database.obj)
            _runner().fake()
            return []
    return list(_runner().up()) if missing_steps() else []


def missing_steps() -> list[str]:
    """Name the steps that this database still lacks."""
    return [step.name for step in _runner().status() if step.applied is None]
