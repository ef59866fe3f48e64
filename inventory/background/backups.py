"""Lets the service back itself up once a day, when the settings name a folder for it."""

from __future__ import annotations

import logging
import threading
from pathlib import Path

from inventory.domain.backup import scheduled_backups
from inventory.domain.backup.scheduled_backups import KeptBackup
from inventory.settings import Settings
from inventory.store import connection

log = logging.getLogger("benchproof")
EVERY = 600  # seconds between looks at the clock


def look(settings: Settings) -> KeptBackup | None:
    """Make today's backup if it is time for it and there is none yet; return it."""
    folder = Path(settings.backup_dir)
    if not scheduled_backups.is_due(folder, settings.backup_hour, settings.timezone):
        return None
    return scheduled_backups.make_one(folder, settings.data_dir, settings.backup_keep)


def start(settings: Settings, stop: threading.Event | None = None) -> threading.Thread | None:
    """Start the thread that looks every ten minutes until *stop*; None: no folder is set."""
    if not settings.backup_dir:
        return None
    given = (settings, stop or threading.Event())
    thread = threading.Thread(target=_go_on, args=given, name="backups", daemon=True)
    thread.start()
    return thread


def _go_on(settings: Settings, stop: threading.Event) -> None:
    while not stop.is_set():
        try:
            connection.ready()
            look(settings)
        except Exception:  # noted for the owner already; the next look may do better
            log.exception("the daily backup failed; it is tried again in ten minutes")
        stop.wait(EVERY)
    connection.database.close()
