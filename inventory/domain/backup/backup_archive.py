"""A backup: one file that holds the whole bench as of one moment, and fits a new SQLite or PostgreSQL database.

The file is a ZIP archive: every table as lines of JSON (the first names the columns, each other is a row), the files
of the data folder, and what the archive is about. Its ledger is walked while it is made, so that the file says
whether what it holds was sound, and by which digest that can be proved later.
"""

from __future__ import annotations

import json
import os
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.quality.attachments import FOLDER
from inventory.store import dump, schema
from inventory.store.connection import execute
from inventory.store.verify import verify_ledger

FORMAT_VERSION = 1  # of the archive; raised when an older Benchproof could not read it
MANIFEST_NAME = "about.json"
SECRET_KEY_NAME = "secret.key"
_to_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


@dataclass(frozen=True)
class BackupRecord:
    """What a backup holds. ``digest`` stands for its whole ledger; ``missing``: files that were gone already."""

    made: datetime
    lines: int
    digest: str
    faults: tuple[str, ...]
    rows: dict[str, int]  # by table, in the order in which they are put in
    files: tuple[str, ...]
    missing: tuple[str, ...]
    steps: tuple[str, ...]  # that its tables have had

    @property
    def sound(self) -> bool:
        """Tell whether the ledger was sound when it was made."""
        return not self.faults


def backup_name(moment: datetime) -> str:
    """Return what a backup made at a *moment* is called."""
    return f"bench-{moment:%Y-%m-%d-%H%M%S}.zip"


def write_backup(path: Path, data_dir: Path) -> BackupRecord:
    """Write the bound bench, and its files under *data_dir*, to a new file at *path*, readable by its owner only.

    The service may run meanwhile. The file appears when it is whole. Raises Conflict when there is one already,
    Invalid when the folder cannot be written to.
    """
    if path.exists():
        raise Conflict(f"{path} is there already: give the backup another name.", reason="file_exists")
    try:
        descriptor, begun = tempfile.mkstemp(prefix=".backup-", dir=path.parent)
    except OSError as error:
        raise Invalid(f"{path.parent} cannot be written to ({error.strerror}): choose another folder.") from None
    try:
        with os.fdopen(descriptor, "wb") as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            about = _fill_archive(archive, data_dir)
        Path(begun).replace(path)
    except BaseException:
        Path(begun).unlink()
        raise
    return about


def _fill_archive(archive: zipfile.ZipFile, data_dir: Path) -> BackupRecord:
    moment = clock.now()
    with dump.snapshot():
        verified = verify_ledger()
        rows = {table: _write_table(archive, table) for table in dump.table_names()}
        files, missing = _write_files(archive, data_dir)
        about = BackupRecord(
            moment,
            verified.lines,
            verified.digest,
            tuple(verified.faults),
            rows,
            files,
            missing,
            tuple(schema.all_migrations()),
        )
    manifest = {"form": FORMAT_VERSION, **asdict(about), "made": moment.isoformat()}
    archive.writestr(MANIFEST_NAME, json.dumps(manifest, indent=1, ensure_ascii=False))
    return about


def _write_table(archive: zipfile.ZipFile, table: str) -> int:
    number = 0
    with archive.open(f"tables/{table}.jsonl", "w", force_zip64=True) as member:
        member.write((_to_json(dump.column_names(table)) + "\n").encode())
        for row in dump.dump_rows(table):
            member.write((_to_json(row) + "\n").encode())
            number += 1
    return number


def _write_files(archive: zipfile.ZipFile, data_dir: Path) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Put the data folder's files into the archive: those that a row names, and the key that signs sessions."""
    named = [
        f"{FOLDER}/{file}" for (file,) in execute("SELECT file FROM attachments WHERE removed IS NULL").fetchall()
    ]
    names = named + ([SECRET_KEY_NAME] if (data_dir / SECRET_KEY_NAME).exists() else [])
    written, missing = [], []
    for name in names:
        if (data_dir / name).is_file():
            archive.write(data_dir / name, f"files/{name}")
            written.append(name)
        else:
            missing.append(name)
    return tuple(written), tuple(missing)


def open_download(data_dir: Path) -> tuple[str, IO[bytes]]:
    """Make a backup of which nothing stays here; return its name and the open file, which its closing ends."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  # whoever sends it closes it
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        about = _fill_archive(archive, data_dir)
    file.seek(0)
    return backup_name(about.made), file


# ---- reading one -----------------------------------------------------------------------------------------


def open_backup(path: Path) -> zipfile.ZipFile:
    """Open a backup's archive; raise Invalid when *path* holds none."""
    try:
        archive = zipfile.ZipFile(path)
        archive.getinfo(MANIFEST_NAME)
    except FileNotFoundError:
        raise Invalid(f"There is no file {path}.") from None
    except (OSError, zipfile.BadZipFile, KeyError):
        raise Invalid(f"{path} is no backup of a bench, or was cut off: choose another file.") from None
    return archive


def read_manifest(archive: zipfile.ZipFile) -> BackupRecord:
    """Return what a backup holds; raise Invalid for one that a newer Benchproof made, or that is damaged."""
    try:
        manifest: dict[str, Any] = json.loads(archive.read(MANIFEST_NAME))
        form = manifest.pop("form")
        if form > FORMAT_VERSION:
            raise Invalid("A newer Benchproof made this backup: update this one first.", reason="too_new")
        lists: dict[str, Any] = {name: tuple(manifest[name]) for name in ("faults", "files", "missing", "steps")}
        return BackupRecord(**{**manifest, **lists, "made": datetime.fromisoformat(manifest["made"])})
    except (KeyError, TypeError, ValueError, zipfile.BadZipFile):
        raise damaged_backup() from None


def damaged_backup() -> Invalid:
    """Make the refusal of a backup that does not hold what it says."""
    return Invalid("This backup is damaged: choose another one.", reason="damaged")


def read_table(archive: zipfile.ZipFile, table: str) -> tuple[list[str], Iterator[list[Any]]]:
    """Return the columns and the rows that a backup holds of a *table*; raise Invalid when they are damaged."""
    try:
        lines = iter(archive.open(f"tables/{table}.jsonl"))
        return json.loads(next(lines)), _decode_rows(lines)
    except (KeyError, StopIteration, ValueError, zipfile.BadZipFile):
        raise damaged_backup() from None


def _decode_rows(lines: Iterator[bytes]) -> Iterator[list[Any]]:
    try:
        for line in lines:
            yield json.loads(line)
    except (ValueError, zipfile.BadZipFile, EOFError):  # a bad checksum shows at the end of a member
        raise damaged_backup() from None
