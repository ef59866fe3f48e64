"""Binds the tables to a database: embedded SQLite, or PostgreSQL when several machines share the bench.

SQLite runs in WAL mode with synchronous=FULL, so that a movement answered is a movement kept. Writers take
one process-wide lock before BEGIN IMMEDIATE: without it, eight techs at once starve each other.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

import peewee

database: Any = peewee.DatabaseProxy()
_write_lock = threading.RLock()
_IDS = 500  # in one statement

SQLITE_PRAGMAS = {
    "journal_mode": "wal",
    "synchronous": 2,
    "foreign_keys": 1,
    "cache_size": -32_000,
    "temp_store": 2,
}


def bind(url: str) -> Any:
    """Point every table at the database of *url* (``sqlite:///path`` or ``postgresql://...``), not yet opened."""
    made = _sqlite(url) if url.startswith("sqlite:///") else _postgres(url)
    database.initialize(made)
    return made


def _sqlite(url: str) -> Any:
    path = Path(url.removeprefix("sqlite:///"))
    path.parent.mkdir(parents=True, exist_ok=True)
    return peewee.SqliteDatabase(str(path), pragmas=SQLITE_PRAGMAS, lock_type="IMMEDIATE", timeout=10)


def _postgres(url: str) -> Any:
    parts = urlsplit(url)
    options = dict(parse_qsl(parts.query))
    options.setdefault("host", unquote(parts.hostname) if parts.hostname else "")
    given = {"user": parts.username, "password": parts.password, "port": parts.port, **options}
    wanted: dict[str, Any] = {key: unquote(str(value)) for key, value in given.items() if value}
    return peewee.PostgresqlDatabase(parts.path.lstrip("/"), prefer_psycopg3=True, **wanted)


@contextmanager
def bound_elsewhere(url: str) -> Iterator[None]:
    """Bind every table of this process to the database of *url* for the block, then to what it was before."""
    before = database.obj
    bind(url)
    ready()
    try:
        yield
    finally:
        database.close()
        database.initialize(before)


def is_sqlite() -> bool:
    """Tell whether the bound database is the embedded one."""
    return isinstance(database.obj, peewee.SqliteDatabase)


def ready() -> None:
    """Open this thread's connection, or open it again when the server has dropped it."""
    bound = database.obj  # asked directly: by way of the proxy each question costs a look-up more
    if not bound.is_closed() and not is_sqlite():
        connection = bound.connection()
        if getattr(connection, "closed", False) or getattr(connection, "broken", False):
            bound.close()
    bound.connect(reuse_if_open=True)


@contextmanager
def writing() -> Iterator[None]:
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


def run(sql: str, *values: Any) -> Any:
    """Run *sql* (``?`` marks a value, on either database) and return the cursor."""
    if not is_sqlite():
        return database.execute_sql(sql.replace("?", "%s"), values)
    with peewee.__exception_wrapper__:  # type: ignore[attr-defined]  # its errors are those of every other query
        return database.obj.connection().execute(sql, values)


def run_for(sql: str, ids: Iterable[int]) -> Iterator[Any]:
    """Run *sql* for many *ids*, so many at a time as a statement may hold; yield the rows.

    ``IN ({ids})`` stands in *sql* wherever they go; there are no other values.
    """
    wanted, places = list(ids), sql.count("{ids}")
    for start in range(0, len(wanted), _IDS):
        some = wanted[start : start + _IDS]
        yield from run(sql.replace("{ids}", ", ".join("?" * len(some))), *some * places).fetchall()
