"""Dumps every table as of one moment, and loads rows into an empty database, SQLite or PostgreSQL.

A row is a list of plain values in the order of its table's columns: text, numbers, yes or no, nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from typing import Any

import peewee

from inventory.store.connection import database, execute, is_sqlite
from inventory.store.tables import all_tables

_PAGE_SIZE = 1000
Row = list[Any]


class RowsRejected(Exception):
    """Rows that the tables reject: wrong columns, wrong types, or references to missing rows."""


@contextmanager
def snapshot() -> Iterator[None]:
    """Run the block in a read-only snapshot: it does not see what others write meanwhile."""
    execute("BEGIN" if is_sqlite() else "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
    try:
        yield
    finally:
        execute("ROLLBACK")


def table_names() -> list[str]:
    """Return the tables in loading order: referenced tables come first."""
    return [table._meta.table_name for table in all_tables()]


def column_names(table: str) -> list[str]:
    """Return the column names of a table."""
    return [field.column_name for field in _table_fields(table)]


def _table_fields(table: str) -> list[Any]:
    return list(next(model for model in all_tables() if model._meta.table_name == table)._meta.sorted_fields)


def dump_rows(table: str) -> Iterator[Row]:
    """Yield the rows of a table by key, so that a row comes after the row of its own table that it refers to."""
    fields = _table_fields(table)
    flags = [place for place, field in enumerate(fields) if isinstance(field, peewee.BooleanField)]
    names = ", ".join(f'"{field.column_name}"' for field in fields)
    cursor = execute(f'SELECT {names} FROM "{table}" ORDER BY {_order_by_key(fields)}')
    while page := cursor.fetchmany(_PAGE_SIZE):
        for values in page:
            row = list(values)
            for place in flags:
                row[place] = None if row[place] is None else bool(row[place])
            yield row


def _order_by_key(fields: Sequence[Any]) -> str:
    key = fields[0].model._meta.primary_key
    names = key.field_names if isinstance(key, peewee.CompositeKey) else [key.name]
    known = fields[0].model._meta.fields
    return ", ".join(f'"{known[name].column_name}"' for name in names)


def load_rows(table: str, names: Sequence[str], rows: Iterable[Row]) -> int:
    """Put *rows*, each in the order of the columns *names*, into an empty *table*; return how many there were.

    Raises RowsRejected for rows that the table rejects.
    """
    if not all(name.isidentifier() for name in (table, *names)):
        raise RowsRejected(table)
    mark = "?" if is_sqlite() else "%s"
    quoted = ", ".join(f'"{name}"' for name in names)
    sql = f'INSERT INTO "{table}" ({quoted}) VALUES ({", ".join([mark] * len(names))})'
    number, rows = 0, iter(rows)
    cursor = database.obj.connection().cursor()
    while page := list(islice(rows, _PAGE_SIZE)):
        try:
            with peewee.__exception_wrapper__:  # type: ignore[attr-defined]  # its errors are those of every other query
                cursor.executemany(sql, page)
        except (peewee.IntegrityError, peewee.DataError, peewee.ProgrammingError, peewee.InterfaceError) as error:
            raise RowsRejected(str(error)) from None
        number += len(page)
    return number


def begin_load() -> None:
    """Delete what a new database holds by itself; references are checked when the transaction ends."""
    execute("DELETE FROM ledger_head")
    if is_sqlite():
        execute("PRAGMA defer_foreign_keys = ON")


def finish_load() -> None:
    """Check every reference, and let each table continue its ids after the highest one loaded.

    PostgreSQL does the first by itself, SQLite the second. Raises RowsRejected for a reference to a missing row.
    """
    if is_sqlite():
        if execute("PRAGMA foreign_key_check").fetchone():
            raise RowsRejected("a row refers to one that is not there")
        return
    for model in all_tables():
        if model._meta.auto_increment:
            table, key = model._meta.table_name, model._meta.primary_key.column_name
            execute(
                f"SELECT setval(pg_get_serial_sequence('{table}', '{key}'),"
                f' (SELECT COALESCE(MAX("{key}"), 0) + 1 FROM "{table}"), false)'
            )
