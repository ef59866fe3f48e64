"""Reads rows by plain SQL, for what happens at every request: building a query anew costs ten times as much.

The rows are the same objects as the tables' own queries give: columns converted, references followed when asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from typing import Any

import peewee

from inventory.store.binding import run

# columns of these types come out of both databases as Python wants them
_AS_IT_IS = (peewee.IntegerField, peewee.CharField, peewee.TextField, peewee.FloatField, peewee.ForeignKeyField)
_Convert = Callable[[Any], Any]


def rows(tables: Sequence[Any], sql: str, *values: Any) -> list[tuple[Any, ...]]:
    """Run *sql*, in which ``{columns}`` stands for the columns of *tables* in turn, each under its own name.

    Return for each line a row of each of *tables*, and then what else *sql* selects. ``?`` marks a value.
    """
    found = run(_filled(tuple(tables), sql), *values).fetchall()
    if len(tables) == 1:
        return [(_row(tables[0], line), *line[len(_names(tables[0])) :]) for line in found]
    return [_split(tables, line) for line in found]


def by_key(table: Any, key: int) -> Any | None:
    """Return the row of *table* with the id *key*, or None."""
    found = rows((table,), _by_key(table), key)
    return found[0][0] if found else None


@cache
def _by_key(table: Any) -> str:
    return f'SELECT {{columns}} FROM "{table._meta.table_name}" WHERE id = ?'


@lru_cache(maxsize=512)
def _filled(tables: tuple[Any, ...], sql: str) -> str:
    return sql.format(columns=_columns(tables))


def _columns(tables: tuple[Any, ...]) -> str:
    return ", ".join(
        f'"{table._meta.table_name}"."{field.column_name}"' for table in tables for field in table._meta.sorted_fields
    )


@cache
def _names(table: Any) -> tuple[str, ...]:
    return tuple(one.name for one in table._meta.sorted_fields)


@cache
def _converters(table: Any) -> tuple[tuple[str, _Convert], ...]:
    """Return what turns the database's values into Python's, where they differ; own column types always do."""
    return tuple(
        (one.name, one.python_value)
        for one in table._meta.sorted_fields
        if not isinstance(one, _AS_IT_IS) or type(one).__module__ != "peewee"
    )


def _split(tables: Sequence[Any], line: Sequence[Any]) -> tuple[Any, ...]:
    made, start = [], 0
    for table in tables:
        end = start + len(_names(table))
        made.append(_row(table, line[start:end]))
        start = end
    return (*made, *line[start:])


def _row(table: Any, values: Sequence[Any]) -> Any:
    made = table(__no_default__=1)
    made.__data__ = data = dict(zip(_names(table), values, strict=False))
    for name, convert in _converters(table):
        if data[name] is not None:
            data[name] = convert(data[name])
    return made
