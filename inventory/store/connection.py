"""Binds the tables to a database: embedded SQLite, or PostgreSQL when several machines share the bench.

SQLite runs in WAL mode with synchronous=FULL, so that a movement answered is a movement kept. Writers take
one process-wide lock before BEGIN IMMEDIATE: without it, eight techs at once starve each other.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import parse_qsl, unquote, urlsplit

import peewee

database: Any = peewee.DatabaseProxy()
_write_lock = threading.RLock()
_BATCH_SIZE = 500
T = TypeVar("T")

SQLITE_PRAGMAS = {
    "journal_mode": "wal",
    "synchronous": 2,
    "foreign_keys": 1,
    "cache_size": -32_000,
    "temp_store": 2,
}


def bind_database(url: str) -> Any:
    """Point every table at the database of *url* (``sqlite:///path`` or ``postgresql://...``), not yet opened."""
    bound = _sqlite_database(url) if url.startswith("sqlite:///") else _postgres_database(url)
    database.initialize(bound)
    return bound


def _sqlite_database(url: str) -> Any:
    path = Path(url.removeprefix("sqlite:///"))
    path.parent.mkdir(parents=True, exist_ok=True)
    return peewee.SqliteDatabase(str(path), pragmas=SQLITE_PRAGMAS, lock_type="IMMEDIATE", timeout=10)


def _postgres_database(url: str) -> Any:
    parts = urlsplit(url)
    options: dict[str, Any] = dict(parse_qsl(parts.query))
    options.setdefault("host", unquote(parts.hostname) if parts.hostname else "")
    options = {"user": parts.username, "password": parts.password, "port": parts.port, **options}
    params: dict[str, Any] = {key: unquote(str(value)) for key, value in options.items() if value}
    return peewee.PostgresqlDatabase(parts.path.lstrip("/"), prefer_psycopg3=True, **params)


@contextmanager
def temporarily_bound(url: str) -> Iterator[None]:
    """Bind every table of this process to the database of *url* for the block, then to what it was before."""
    before = database.obj
    bind_database(url)
    connect()
    try:
        yield
    finally:
        database.close()
        database.initialize(before)


def is_sqlite() -> bool:
    """Tell whether the bound database is the embedded one."""
    return isinstance(database.obj, peewee.SqliteDatabase)


def connect() -> None:
    """Open this thread's connection, or open it again when the server has dropped it."""
    bound = database.obj  # the database itself: each call through the proxy costs one more look-up
    if not bound.is_closed() and not is_sqlite():
        connection = bound.connection()
        if getattr(connection, "closed", False) or getattr(connection, "broken", False):
            bound.close()
    bound.connect(reuse_if_open=True)


@contextmanager
def transaction() -> Iterator[None]:
    """Run the block as one transaction; inside another one, join it.

    An error that leaves the block undoes all of the outermost transaction: nothing is ever half-written.
    Do not catch a refusal inside the block and go on.
    """
    bound = database.obj
    if bound.in_transaction():
        yield
        return
    with _write_lock if is_sqlite() else nullcontext(), bound.atomic():
        yield


def execute(sql: str, *values: Any) -> Any:
    """Run *sql* (``?`` marks a value, on either database) and return the cursor."""
    if not is_sqlite():
        return database.execute_sql(sql.replace("?", "%s"), values)
    with peewee.__exception_wrapper__:  # type: ignore[attr-defined]  # its errors are those of every other query
        return database.obj.connection().execute(sql, values)


def batches(items: Iterable[T]) -> Iterator[list[T]]:
    """Yield *items* in lists of at most 500, as many values as one statement may hold.

    ``peewee.chunked`` does the same in 27 microseconds for one id, which a trace on a large ledger would notice.
    """
    rows = list(items)
    for start in range(0, len(rows), _BATCH_SIZE):
        yield rows[start : start + _BATCH_SIZE]


def run_for(sql: str, ids: Iterable[int]) -> Iterator[Any]:
    """Run *sql* for many *ids*, a batch at a time; yield the rows.

    ``IN ({ids})`` stands in *sql* wherever they go; there are no other values.
    """
    places = sql.count("{ids}")
    for batch in batches(ids):
        yield from execute(sql.replace("{ids}", ", ".join("?" * len(batch))), *batch * places).fetchall()
