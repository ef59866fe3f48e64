"""Creates the tables of a database, or migrates them to the current schema.

An empty database gets the tables as they are today, and every numbered migration counts as done. A database that
holds something is changed by the migrations it has not had, in order, by peewee's own runner. ``first.sql`` keeps the
tables as they were before the first migration, so that tests can walk the whole way.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import peewee
from playhouse.migrations import Runner

from inventory.store.connection import bind_database, connect, database, execute, is_sqlite, transaction
from inventory.store.ledger_triggers import create_triggers
from inventory.store.tables import IdempotencyKey, all_tables


class SchemaTooNew(Exception):
    """The database was made by a newer Benchproof; the text says what to do."""


MIGRATIONS_DIR = Path(__file__).parent / "migrations"
INITIAL_SCHEMA = MIGRATIONS_DIR / "first.sql"
_ADVISORY_LOCK_ID = 8017  # any fixed number: two processes that start at once on PostgreSQL take turns


def _migration_runner() -> Any:
    return Runner(database.obj, directory=str(MIGRATIONS_DIR), table_name="schema_steps")


def migrate() -> list[str]:
    """Make or change the tables; return the names of the migrations applied now (none for a new database)."""
    with transaction():
        if not is_sqlite():
            execute("SELECT pg_advisory_xact_lock(?)", _ADVISORY_LOCK_ID)
        if not has_tables():
            IdempotencyKey._meta.without_rowid = is_sqlite()  # PostgreSQL knows no such thing
            database.obj.create_tables(all_tables())
            create_triggers(database.obj)
            _migration_runner().fake()
            return []
    return list(_migration_runner().up()) if pending_migrations() else []


def open_database(url: str) -> None:
    """Bind every table to the database of *url*, connect this thread to it, and bring its tables up."""
    bind_database(url)
    connect()
    migrate()


def has_tables() -> bool:
    """Tell whether the bound database holds a bench already."""
    return bool(database.obj.table_exists("ledger_head"))


def pending_migrations() -> list[str]:
    """Return the migrations that this database lacks; raise SchemaTooNew when it has unknown ones."""
    status = _migration_runner().status()
    unknown = [migration.name for migration in status if migration.path is None]
    if unknown:
        raise SchemaTooNew(f"A newer Benchproof has used this database ({unknown[-1]}): update this one first.")
    return [migration.name for migration in status if migration.applied is None]


def all_migrations() -> list[str]:
    """Return the names of all migrations, in order."""
    return sorted(path.stem for path in MIGRATIONS_DIR.glob("[0-9]*.py"))


def is_up_to_date(migrations: Sequence[str]) -> bool:
    """Tell whether tables after these *migrations* are as they are today; raise SchemaTooNew for unknown ones."""
    known = all_migrations()
    if list(migrations) != known[: len(migrations)]:
        raise SchemaTooNew("A newer Benchproof made this: update this one first.")
    return len(migrations) == len(known)


def create_at_migration(migrations: Sequence[str], path: Path) -> None:
    """Make a SQLite database at *path* with its tables as they were after *migrations*, the first ones there were."""
    connection = sqlite3.connect(path)
    connection.executescript(INITIAL_SCHEMA.read_text())
    connection.close()
    db = peewee.SqliteDatabase(str(path))
    if migrations:
        Runner(db, directory=str(MIGRATIONS_DIR), table_name="schema_steps").up(migrations[-1])
    db.close()
