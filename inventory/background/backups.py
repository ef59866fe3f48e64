"""Backs the service up once a day, when the settings name a folder for it."""

from __future__ import annotations

import threading
from pathlib import Path

from inventory import background
from inventory.domain.backup import scheduled_backups
from inventory.domain.backup.scheduled_backups import StoredBackup
from inventory.settings import Settings

CHECK_SECONDS = 600  # between two looks at the clock


def back_up_if_due(settings: Settings) -> StoredBackup | None:
    """Make today's backup if it is due and not made yet, and return it."""
    folder = Path(settings.backup_dir)
    if not scheduled_backups.is_backup_due(folder, settings.backup_hour, settings.timezone):
        return None
    return scheduled_backups.make_scheduled_backup(folder, settings.data_dir, settings.backup_keep)


def start_thread(settings: Settings, stop: threading.Event | None = None) -> threading.Thread | None:
    """Start the thread that makes due backups until *stop* is set; None: no folder is set."""
    if not settings.backup_dir:
        return None
    return background.start_thread("backups", CHECK_SECONDS, lambda: back_up_if_due(settings), stop)
