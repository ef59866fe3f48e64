"""Threads that work while the service runs: sending alerts, daily backups."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable

from inventory.store import connection

log = logging.getLogger("benchproof")


def start_thread(
    name: str, seconds: float, act: Callable[[], object], stop: threading.Event | None = None
) -> threading.Thread:
    """Start a daemon thread that calls *act* every so many *seconds* until *stop* is set; it survives errors."""
    thread = threading.Thread(
        target=_run, args=(name, seconds, act, stop or threading.Event()), name=name, daemon=True
    )
    thread.start()
    return thread


def _run(name: str, seconds: float, act: Callable[[], object], stop: threading.Event) -> None:
    while not stop.is_set():
        try:
            connection.connect()
            act()
        except Exception:  # whatever it was, the next try may do better
            log.exception("%s failed; the next try is in %g minutes", name, seconds / 60)
        stop.wait(seconds)
    connection.database.close()
