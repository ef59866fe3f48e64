"""Starts a PostgreSQL server of our own for the tests, in a folder that is thrown away; copies its databases."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

from tests.temporary_folders import temporary_folder


class NoPostgres(Exception):
    """PostgreSQL's server programs are not on this machine."""


def _program(name: str) -> str:
    paths = [shutil.which(name), *(str(p) for p in sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}")))]
    for path in reversed(paths):
        if path:
            return path
    raise NoPostgres(f"PostgreSQL's {name} is not installed (Debian: apt-get install postgresql).")


def _as_server_user(folder: Path) -> list[str]:
    """PostgreSQL refuses to run as root: hand the folder to its own user, and say how to become it."""
    if os.geteuid() != 0:
        return []
    shutil.chown(folder, "postgres")
    return ["runuser", "-u", "postgres", "--"]


@contextmanager
def server(durable: bool = False) -> Iterator[str]:
    """Run a server; yield the address of an empty database on it. *durable* keeps fsync on, as a bench would."""
    initdb, postgres, isready = _program("initdb"), _program("postgres"), _program("pg_isready")
    with temporary_folder("bench-pg-", durable) as folder:
        become = _as_server_user(folder)
        data = folder / "data"
        subprocess.run(
            [*become, initdb, "-D", data, "-U", "bench", "-A", "trust", "-E", "UTF8", "--no-sync"],
            check=True, capture_output=True, cwd=folder,
        )  # fmt: skip
        settings = ["-c", "listen_addresses=", "-c", f"unix_socket_directories={folder}"]
        if not durable:
            settings += ["-c", "fsync=off", "-c", "full_page_writes=off", "-c", "max_wal_size=64MB"]
        process = subprocess.Popen(
            [*become, postgres, "-D", data, *settings], cwd=folder,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            _wait(isready, folder)
            yield f"postgresql://bench@/postgres?host={folder}"
        finally:
            subprocess.run([*become, _program("pg_ctl"), "stop", "-D", data, "-m", "immediate"], capture_output=True)
            process.wait(timeout=30)


class Databases:
    """Makes databases on a *server* (its address) and drops them again, over one connection of its own."""

    def __init__(self, server: str) -> None:
        self._server = server
        self._connection = psycopg.connect(server, autocommit=True)
        # From version 15 on a copy goes through the log unless told otherwise: twice the work of copying files.
        self._plain = " STRATEGY file_copy" if self._connection.info.server_version >= 150_000 else ""

    def close(self) -> None:
        """Let go of the server."""
        self._connection.close()

    def make(self, name: str, like: str = "") -> str:
        """Make the database *name*, empty or a copy of *like*, and return its address."""
        template = f" TEMPLATE {like}{self._plain}" if like else ""
        self._run(f"CREATE DATABASE {name}{template}")
        return self._server.replace("/postgres?", f"/{name}?")

    def drop(self, name: str) -> None:
        """Drop the database *name* and its files, whoever is still connected to it."""
        self._run(f"DROP DATABASE {name} WITH (FORCE)")

    def _run(self, sql: str) -> None:
        self._connection.execute(sql.encode())


def _wait(isready: str, folder: Path) -> None:
    for _ in range(100):
        if subprocess.run([isready, "-h", folder, "-t", "1"], capture_output=True).returncode == 0:
            return
        subprocess.run(["sleep", "0.1"], check=True)
    raise RuntimeError("The PostgreSQL server did not start within ten seconds.")
