"""The backups that the service makes by itself: one a day into a folder, the newest kept; how the last try went."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from inventory.domain.backup.backup_archive import backup_name, write_backup
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, DomainError
from inventory.store.connection import transaction
from inventory.store.key_values import get_value, set_value

MAX_AGE = timedelta(hours=49)  # a day may be missed, two may not
_FACT_NAME = "backup"
_NAME_PATTERN = re.compile(r"bench-(\d{4}-\d\d-\d\d-\d{6})\.zip")


@dataclass(frozen=True)
class StoredBackup:
    """A backup in the folder. ``size``: bytes."""

    name: str
    made: datetime
    size: int


@dataclass(frozen=True)
class BackupStatus:
    """How the service's own backups went: the last good one, and what was wrong since (empty: nothing)."""

    tried: datetime
    made: datetime | None
    wrong: str

    @property
    def overdue(self) -> bool:
        """Tell whether somebody should see to it: the last try failed, or none was made for two days."""
        return bool(self.wrong) or self.made is None or clock.now() - self.made > MAX_AGE

    @property
    def told(self) -> str:
        """Say how old the last good one is, and what went wrong since."""
        good = f"The last good one is of {self.made:%d %b %Y}." if self.made else "None was made yet."
        return f"{good} {self.wrong or 'Does the service run all the time?'}"


def stored_backups(folder: Path) -> list[StoredBackup]:
    """Return the backups in a folder, the newest first."""
    matches = [(_NAME_PATTERN.fullmatch(item.name), item) for item in folder.glob("bench-*.zip")]
    backups = [
        StoredBackup(
            item.name, datetime.strptime(match[1], "%Y-%m-%d-%H%M%S").replace(tzinfo=UTC), item.stat().st_size
        )
        for match, item in matches
        if match
    ]
    return sorted(backups, key=lambda item: item.made, reverse=True)


def is_backup_due(folder: Path, hour: int, zone: str) -> bool:
    """Tell whether today's backup is still to be made: *hour* has come in *zone*, and there is none of today."""
    local_zone, local_now = ZoneInfo(zone), clock.now().astimezone(ZoneInfo(zone))
    return local_now.hour >= hour and all(
        backup.made.astimezone(local_zone).date() != local_now.date() for backup in stored_backups(folder)
    )


def make_scheduled_backup(folder: Path, data_dir: Path, number: int) -> StoredBackup:
    """Make a backup in *folder*, keep the newest *number* there, and note how it went.

    Raises DomainError or OSError when it could not be made, Conflict when it was made of a ledger that is not sound;
    older ones are then all kept.
    """
    moment = clock.now()
    path = folder / backup_name(moment)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        backup = write_backup(path, data_dir)
        if not backup.sound:
            raise Conflict(f"The ledger is not sound: {backup.faults[0]} The backups before this one are kept.")
    except (DomainError, OSError) as error:
        _store_status(
            moment, None, error.sentence if isinstance(error, DomainError) else f"{folder}: {error.strerror}."
        )
        raise
    _store_status(moment, moment, "")
    for old in stored_backups(folder)[number:]:
        (folder / old.name).unlink(missing_ok=True)
    return StoredBackup(path.name, moment, path.stat().st_size)


def _store_status(tried: datetime, made: datetime | None, wrong: str) -> None:
    last = last_backup_status()
    good = made or (last.made if last else None)
    with transaction():
        set_value(_FACT_NAME, {"tried": tried.isoformat(), "made": good and good.isoformat(), "wrong": wrong})


def last_backup_status() -> BackupStatus | None:
    """Return how the service's own backups went; None: it never tried."""
    stored = get_value(_FACT_NAME)
    if stored is None:
        return None
    made = datetime.fromisoformat(stored["made"]) if stored["made"] else None
    return BackupStatus(datetime.fromisoformat(stored["tried"]), made, stored["wrong"])
