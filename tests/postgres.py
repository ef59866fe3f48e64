"""Starts a PostgreSQL server of our own for the tests, in a folder that is thrown away."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class NoPostgres(Exception):
    """PostgreSQL's server programs are not on this machine."""


def _program(name: str) -> str:
    found = [shutil.which(name), *(str(p) for p in sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}")))]
    for path in reversed(found):
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
    folder = Path(tempfile.mkdtemp(prefix="bench-pg-"))
    become = _as_server_user(folder)
    data = folder / "data"
    try:
        subprocess.run(
            [*become, initdb, "-D", data, "-U", "bench", "-A", "trust", "-E", "UTF8", "--no-sync"],
            check=True, capture_output=True, cwd=folder,
        )  # fmt: skip
        settings = ["-c", "listen_addresses=", "-c", f"unix_socket_directories={folder}"]
        if not durable:
            settings += ["-c", "fsync=off", "-c", "full_page_writes=off"]
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
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _wait(isready: str, folder: Path) -> None:
    for _ in range(100):
        if subprocess.run([isready, "-h", folder, "-t", "1"], capture_output=True).returncode == 0:
            return
        subprocess.run(["sleep", "0.1"], check=True)
    raise RuntimeError("The PostgreSQL server did not start within ten seconds.")
