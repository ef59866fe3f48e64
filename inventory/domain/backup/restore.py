"""Restoring a backup into a new database: whole, proved by its ledger, or not at all.

A backup of an older Benchproof is put into the tables of its own time first, and brought up from there by the same
steps that a database in use goes through.
"""

from __future__ import annotations

import os
import re
import tempfile
import zipfile
from pathlib import Path

from inventory.domain.backup.backup_archive import (
    SECRET_KEY_NAME,
    BackupRecord,
    damaged_backup,
    open_backup,
    read_manifest,
    read_table,
    write_backup,
)
from inventory.domain.common.errors import Conflict
from inventory.store import connection, dump, schema
from inventory.store.verify import verify_ledger

_FILE_PATTERN = re.compile(rf"{re.escape(SECRET_KEY_NAME)}|attachments/[0-9a-f]{{40}}\.[a-z]{{3,4}}")


def restore_backup(path: Path, data_dir: Path) -> BackupRecord:
    """Put the backup at *path* into the bound database, which must be new, and its files under *data_dir*.

    Its ledger is walked and every balance added up before anything is kept. Raises Conflict when the database is in
    use or a file differs from one that is there, Invalid when the backup is damaged or of a newer Benchproof.
    """
    if schema.has_tables():
        raise Conflict(
            "There is a bench in this database already: restore into a new data folder or a new database.",
            reason="in_use",
        )
    with open_backup(path) as archive:
        held = read_manifest(archive)
        if not schema.is_up_to_date(held.steps):
            return _restore_older(path, held, data_dir)
        _check_files(archive, held, data_dir)
        with connection.transaction():
            schema.migrate()
            _load_tables(archive, held)
            _extract_files(archive, held, data_dir)
    return held


def trial_restore(path: Path) -> BackupRecord:
    """Restore the backup at *path* into a place of its own that is thrown away; raise as ``restore`` does."""
    with tempfile.TemporaryDirectory() as folder, connection.temporarily_bound(f"sqlite:///{folder}/tried.db"):
        return restore_backup(path, Path(folder))


def _restore_older(path: Path, held: BackupRecord, data_dir: Path) -> BackupRecord:
    """Restore a backup of an older Benchproof by way of a database of its time, brought up to today's."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        schema.create_at_migration(held.steps, folder / "older.db")
        with connection.temporarily_bound(f"sqlite:///{folder / 'older.db'}"), open_backup(path) as archive:
            with connection.transaction():
                _load_tables(archive, held)
                _extract_files(archive, held, folder)
            schema.migrate()
            write_backup(folder / "todays.zip", folder)
        return restore_backup(folder / "todays.zip", data_dir)


def _load_tables(archive: zipfile.ZipFile, held: BackupRecord) -> None:
    dump.begin_load()
    try:
        for table, number in held.rows.items():
            names, rows = read_table(archive, table)
            if dump.load_rows(table, names, rows) != number:
                raise damaged_backup()
        dump.finish_load()
    except dump.RowsRejected:
        raise damaged_backup() from None
    verified = verify_ledger()
    if (verified.lines, verified.digest) != (held.lines, held.digest) or tuple(verified.faults) != held.faults:
        raise damaged_backup()


def _check_files(archive: zipfile.ZipFile, held: BackupRecord, data_dir: Path) -> None:
    for name in held.files:
        target = data_dir / name
        if not _FILE_PATTERN.fullmatch(name):
            raise damaged_backup()
        if target.exists() and target.read_bytes() != _read_file(archive, name):
            raise Conflict(f"{target} is there and differs: restore into a new data folder.", reason="file_exists")


def _extract_files(archive: zipfile.ZipFile, held: BackupRecord, data_dir: Path) -> None:
    for name in held.files:
        target = data_dir / name
        if not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "wb") as file:
                file.write(_read_file(archive, name))


def _read_file(archive: zipfile.ZipFile, name: str) -> bytes:
    try:
        return archive.read(f"files/{name}")
    except (KeyError, zipfile.BadZipFile):
        raise damaged_backup() from None
