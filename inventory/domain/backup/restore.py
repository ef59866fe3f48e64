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

from inventory.domain.backup.backup_archive import KEY, BackupRecord, about, back_up, damaged, opened, rows_of
from inventory.domain.common.errors import Conflict
from inventory.store import connection, dump, schema
from inventory.store.verify import verify_ledger

_FILE = re.compile(rf"{re.escape(KEY)}|attachments/[0-9a-f]{{40}}\.[a-z]{{3,4}}")


def restore(path: Path, data_dir: Path) -> BackupRecord:
    """Put the backup at *path* into the bound database, which must be new, and its files under *data_dir*.

    Its ledger is walked and every balance added up before anything is kept. Raises Conflict when the database is in
    use or a file differs from one that is there, Invalid when the backup is damaged or of a newer Benchproof.
    """
    if schema.in_use():
        raise Conflict(
            "There is a bench in this database already: restore into a new data folder or a new database.",
            reason="in_use",
        )
    with opened(path) as archive:
        held = about(archive)
        if not schema.are_todays(held.steps):
            return _restore_older(path, held, data_dir)
        _look_at_files(archive, held, data_dir)
        with connection.writing():
            schema.bring_up()
            _put_in(archive, held)
            _files(archive, held, data_dir)
    return held


def try_out(path: Path) -> BackupRecord:
    """Restore the backup at *path* into a place of its own that is thrown away; raise as ``restore`` does."""
    with tempfile.TemporaryDirectory() as folder, connection.bound_elsewhere(f"sqlite:///{folder}/tried.db"):
        return restore(path, Path(folder))


def _restore_older(path: Path, held: BackupRecord, data_dir: Path) -> BackupRecord:
    """Restore a backup of an older Benchproof by way of a database of its time, brought up to today's."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        schema.start_as_of(held.steps, folder / "older.db")
        with connection.bound_elsewhere(f"sqlite:///{folder / 'older.db'}"), opened(path) as archive:
            with connection.writing():
                _put_in(archive, held)
                _files(archive, held, folder)
            schema.bring_up()
            back_up(folder / "todays.zip", folder)
        return restore(folder / "todays.zip", data_dir)


def _put_in(archive: zipfile.ZipFile, held: BackupRecord) -> None:
    dump.make_ready()
    try:
        for table, number in held.rows.items():
            names, rows = rows_of(archive, table)
            if dump.put_in(table, names, rows) != number:
                raise damaged()
        dump.finish()
    except dump.DoesNotFit:
        raise damaged() from None
    found = verify_ledger()
    if (found.lines, found.digest) != (held.lines, held.digest) or tuple(found.faults) != held.faults:
        raise damaged()


def _look_at_files(archive: zipfile.ZipFile, held: BackupRecord, data_dir: Path) -> None:
    for name in held.files:
        there = data_dir / name
        if not _FILE.fullmatch(name):
            raise damaged()
        if there.exists() and there.read_bytes() != _content(archive, name):
            raise Conflict(f"{there} is there and differs: restore into a new data folder.", reason="file_exists")


def _files(archive: zipfile.ZipFile, held: BackupRecord, data_dir: Path) -> None:
    for name in held.files:
        there = data_dir / name
        if not there.exists():
            there.parent.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(there, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "wb") as file:
                file.write(_content(archive, name))


def _content(archive: zipfile.ZipFile, name: str) -> bytes:
    try:
        return archive.read(f"files/{name}")
    except (KeyError, zipfile.BadZipFile):
        raise damaged() from None
