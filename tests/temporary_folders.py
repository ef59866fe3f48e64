"""Folders that are thrown away: in memory where the machine has room there, or else on disk."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_MEMORY = Path("/dev/shm")
_ROOM = 2 * 1024**3  # bytes; a container that was given the usual 64 MB there works on disk instead


def in_memory() -> Path | None:
    """Return the folder that lies in memory, or None where there is none or it has little room."""
    try:
        return _MEMORY if shutil.disk_usage(_MEMORY).free > _ROOM else None
    except OSError:
        return None


@contextmanager
def scratch(start: str, durable: bool = False) -> Iterator[Path]:
    """Lend a new folder whose name begins with *start*; a *durable* one lies on disk."""
    folder = Path(tempfile.mkdtemp(prefix=start, dir=None if durable else in_memory()))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
