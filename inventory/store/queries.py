"""Reads, adds and changes rows by plain SQL on hot paths: building a query costs ten times as much.

The rows are the same objects as the tables' own queries give: columns converted, references followed when asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from typing import Any

import peewee

from inventory.store.connection import execute, is_sqlite
from inventory.store.fields import UtcField, from_micros

# columns of these types come out of both databases as Python wants them
_NO_CONVERSION = (peewee.IntegerField, peewee.CharField, peewee.TextField, peewee.FloatField, peewee.ForeignKeyField)
_Converter = Callable[[Any], Any]
_FAST_CONVERTERS: dict[type, _Converter] = {
    UtcField: from_micros,
    peewee.BooleanField: bool,
}  # what their fields come to


def fetch_rows(tables: Sequence[Any], sql: str, *values: Any) -> list[tuple[Any, ...]]:
    """Run *sql*, in which ``{columns}`` stands for the columns of *tables* in turn, each under its own name.

    Return for each line a row of each of *tables*, and then what else *sql* selects. ``?`` marks a value.
    """
    lines = execute(_with_columns(tuple(tables), sql), *values).fetchall()
    if len(tables) == 1:
        return [(_build_row(tables[0], line), *line[len(_field_names(tables[0])) :]) for line in lines]
    return [_rows_of_line(tables, line) for line in lines]


def get_by_id(table: Any, key: int) -> Any | None:
    """Return the row of *table* with the id *key*, or None."""
    rows = fetch_rows((table,), _select_by_id_sql(table), key)
    return rows[0][0] if rows else None


def find_by_values(table: Any, values: Mapping[str, Any]) -> Any | None:
    """Return a row of *table* that has these *values* by the names of its fields (none is None), or None."""
    rows = fetch_rows((table,), _select_by_values_sql(table, tuple(values)) + " LIMIT 1", *_db_values(table, values))
    return rows[0][0] if rows else None


def filter_by(table: Any, **values: Any) -> list[Any]:
    """Return the rows of *table* that have these *values* (none is None), by id."""
    rows = fetch_rows(
        (table,), _select_by_values_sql(table, tuple(values)) + " ORDER BY id", *_db_values(table, values)
    )
    return [row for (row,) in rows]


@lru_cache(maxsize=512)
def _select_by_values_sql(table: Any, names: tuple[str, ...]) -> str:
    condition = " AND ".join(f"{_quoted_column(table, name)} = ?" for name in names)
    return f'SELECT {{columns}} FROM "{table._meta.table_name}" WHERE {condition}'


def update_row(table: Any, key: int, values: Mapping[str, Any], version: int | None = None) -> int:
    """Set *values* in the row with the id *key*; return how many there were, 1 or 0.

    With *version*, change only a row that has it, and raise it.
    """
    more = () if version is None else (version,)
    sql = _update_sql(table, tuple(values), version is not None)
    return int(execute(sql, *_db_values(table, values), key, *more).rowcount)


@lru_cache(maxsize=512)
def _update_sql(table: Any, names: tuple[str, ...], versioned: bool) -> str:
    new = [f"{_quoted_column(table, name)} = ?" for name in names] + (["version = version + 1"] if versioned else [])
    guard = " AND version = ?" if versioned else ""
    return f'UPDATE "{table._meta.table_name}" SET {", ".join(new)} WHERE id = ?{guard}'


def insert_row(table: Any, values: Mapping[str, Any]) -> int:
    """Add a row to *table*, whose ids are counted up: *values* by the names of its fields. Return its id."""
    names = tuple(values)
    cursor = execute(_insert_sql(table, names, is_sqlite()), *_db_values(table, values))
    return int(cursor.lastrowid if is_sqlite() else cursor.fetchone()[0])


@lru_cache(maxsize=512)
def _insert_sql(table: Any, names: tuple[str, ...], sqlite: bool) -> str:
    columns = ", ".join(_quoted_column(table, name) for name in names)
    marks = ", ".join("?" * len(names))
    back = "" if sqlite else " RETURNING id"
    return f'INSERT INTO "{table._meta.table_name}" ({columns}) VALUES ({marks}){back}'


def _db_values(table: Any, values: Mapping[str, Any]) -> Iterator[Any]:
    for name, value in values.items():
        yield table._meta.combined[name].db_value(value)


def _quoted_column(table: Any, name: str) -> str:
    return f'"{table._meta.combined[name].column_name}"'


@cache
def _select_by_id_sql(table: Any) -> str:
    return f'SELECT {{columns}} FROM "{table._meta.table_name}" WHERE id = ?'


@lru_cache(maxsize=512)
def _with_columns(tables: tuple[Any, ...], sql: str) -> str:
    return sql.format(columns=_column_list_sql(tables))


def _column_list_sql(tables: tuple[Any, ...]) -> str:
    return ", ".join(
        f'"{table._meta.table_name}"."{field.column_name}"' for table in tables for field in table._meta.sorted_fields
    )


@cache
def _field_names(table: Any) -> tuple[str, ...]:
    return tuple(field.name for field in table._meta.sorted_fields)


@cache
def _converters(table: Any) -> tuple[tuple[int, _Converter], ...]:
    """Return by position the converters of database values; columns without one need no conversion."""
    return tuple(
        (place, _FAST_CONVERTERS.get(type(field), field.python_value))
        for place, field in enumerate(table._meta.sorted_fields)
        if not isinstance(field, _NO_CONVERSION) or type(field).__module__ != "peewee"
    )


def _rows_of_line(tables: Sequence[Any], line: Sequence[Any]) -> tuple[Any, ...]:
    rows, start = [], 0
    for table in tables:
        end = start + len(_field_names(table))
        rows.append(_build_row(table, line[start:end]))
        start = end
    return (*rows, *line[start:])


def _build_row(table: Any, line: Sequence[Any]) -> Any:
    """Build a row as a query of *table* would: no related rows loaded, no changes pending."""
    values = list(line)
    for place, convert in _converters(table):
        if values[place] is not None:
            values[place] = convert(values[place])
    row = table.__new__(table)
    row.__data__ = dict(zip(_field_names(table), values, strict=False))
    row.__rel__ = {}
    row._dirty = set()
    return row
