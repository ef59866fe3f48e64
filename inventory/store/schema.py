"""Brings a database to the newest state of its tables.

An empty database gets the tables as they are today, and every numbered step counts as done. A database that holds
something is changed by the steps it has not had, in order, by peewee's own runner. ``first.sql`` keeps the tables
as they were before the first step, so that tests can walk the whole way.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import peewee
from playhouse.migrations import Runner

from inventory.store.connection import database, is_sqlite, run, writing
from inventory.store.ledger_triggers import put_up
from inventory.store.tables import OnceKey, all_tables


class TooNew(Exception):
    """What is to be opened was made by a newer Benchproof; the text says what to do."""


STEPS = Path(__file__).parent / "migrations"
FIRST = STEPS / "first.sql"
_LOCK = 8017  # any fixed number: two processes that start at once on PostgreSQL take turns


def _runner() -> Any:
    return Runner(database.obj, directory=str(STEPS), table_name="schema_steps")


def bring_up() -> list[str]:
    """Make or change the tables; return the names of the steps applied now (none for a new database)."""
    with writing():
        if not is_sqlite():
            run("SELECT pg_advisory_xact_lock(?)", _LOCK)
        if not in_use():
            OnceKey._meta.without_rowid = is_sqlite()  # PostgreSQL knows no such thing
            database.obj.create_tables(all_tables())
            put_up(database.obj)
            _runner().fake()
            return []
    return list(_runner().up()) if missing_steps() else []


def in_use() -> bool:
    """Tell whether the bound database holds a bench already."""
    return bool(database.obj.table_exists("ledger_head"))


def missing_steps() -> list[str]:
    """Name the steps that this database still lacks; raise TooNew when it had some that are not known here."""
    status = _runner().status()
    unknown = [step.name for step in status if step.path is None]
    if unknown:
        raise TooNew(f"A newer Benchproof has used this database ({unknown[-1]}): update this one first.")
    return [step.name for step in status if step.applied is None]


def all_steps() -> list[str]:
    """Name every step there is, in order."""
    return sorted(one.stem for one in STEPS.glob("[0-9]*.py"))


def are_todays(steps: Sequence[str]) -> bool:
    """Tell whether tables that have had these *steps* are as they are today; raise TooNew for unknown steps."""
    known = all_steps()
    if list(steps) != known[: len(steps)]:
        raise TooNew("A newer Benchproof made this: update this one first.")
    return len(steps) == len(known)


def start_as_of(steps: Sequence[str], path: Path) -> None:
    """Make a SQLite database at *path* whose tables are as they were after *steps*, the first ones there were."""
    made = sqlite3.connect(path)
    made.executescript(FIRST.read_text())
    made.close()
    db = peewee.SqliteDatabase(str(path))
    if steps:
        Runner(db, directory=str(STEPS), table_name="schema_steps").up(steps[-1])
    db.close()
