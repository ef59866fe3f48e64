"""Reads rows by plain SQL, for what happens at every request: building a query anew costs ten times as much.

The rows are the same objects as the tables' own queries give: columns converted, references followed when asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import peewee

from inventory.store.binding import run

# columns of these types come out of both databases as Python wants them
_AS_IT_IS = (peewee.IntegerField, peewee.CharField, peewee.TextField, peewee.FloatField, peewee.ForeignKeyField)
_Field = tuple[str, Callable[[Any], Any] | None]


def rows(tables: Sequence[Any], sql: str, *values: Any) -> list[tuple[Any, ...]]:
    """Run *sql*, in which ``{columns}`` stands for the columns of *tables* in turn, each under its own name.

    Return for each line a row of each of *tables*, and then what else *sql* selects. ``?`` marks a value.
    """
    found = run(sql.format(columns=_columns(tuple(tables))), *values).fetchall()
    return [_split(tables, line) for line in found]


def by_key(table: Any, key: int) -> Any | None:
    """Return the row of *table* with the id *key*, or None."""
    found = rows((table,), _by_key(table), key)
    return found[0][0] if found else None


@cache
def _by_key(table: Any) -> str:
    return f'SELECT {{columns}} FROM "{table._meta.table_name}" WHERE id = ?'


@cache
def _columns(tables: tuple[Any, ...]) -> str:
    return ", ".join(
        f'"{table._meta.table_name}"."{field.column_name}"' for table in tables for field in table._meta.sorted_fields
    )


@cache
def _fields(table: Any) -> tuple[_Field, ...]:
    return tuple((one.name, _converter(one)) for one in table._meta.sorted_fields)


def _converter(field: Any) -> Callable[[Any], Any] | None:
    """Return what turns the database's value into Python's; own column types always need theirs."""
    plain = isinstance(field, _AS_IT_IS) and type(field).__module__ == "peewee"
    return None if plain else field.python_value


def _split(tables: Sequence[Any], line: Sequence[Any]) -> tuple[Any, ...]:
    made, start = [], 0
    for table in tables:
        fields = _fields(table)
        made.append(_row(table, fields, line[start : start + len(fields)]))
        start += len(fields)
    return (*made, *line[start:])


def _row(table: Any, fields: tuple[_Field, ...], values: Sequence[Any]) -> Any:
    made = table(__no_default__=1)
    made.__data__ = {
        name: value if convert is None else convert(value)
        for (name, convert), value in zip(fields, values, strict=True)
    }
    return made
