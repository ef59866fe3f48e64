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
from inventory.store.connection import run
from inventory.store.verify import verify_ledger

FORM = 1  # of the archive; raised when an older Benchproof could not read it
ABOUT = "about.json"
KEY = "secret.key"
_as_text = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


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


def usual_name(moment: datetime) -> str:
    """Return what a backup made at a *moment* is called."""
    return f"bench-{moment:%Y-%m-%d-%H%M%S}.zip"


def back_up(path: Path, data_dir: Path) -> BackupRecord:
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
            about = _filled(archive, data_dir)
        Path(begun).replace(path)
    except BaseException:
        Path(begun).unlink()
        raise
    return about


def _filled(archive: zipfile.ZipFile, data_dir: Path) -> BackupRecord:
    made = clock.now()
    with dump.one_moment():
        walked = verify_ledger()
        rows = {table: _table(archive, table) for table in dump.tables()}
        files, missing = _files(archive, data_dir)
        about = BackupRecord(
            made, walked.lines, walked.digest, tuple(walked.faults), rows, files, missing, tuple(schema.all_steps())
        )
    said = {"form": FORM, **asdict(about), "made": made.isoformat()}
    archive.writestr(ABOUT, json.dumps(said, indent=1, ensure_ascii=False))
    return about


def _table(archive: zipfile.ZipFile, table: str) -> int:
    number = 0
    with archive.open(f"tables/{table}.jsonl", "w", force_zip64=True) as member:
        member.write((_as_text(dump.columns(table)) + "\n").encode())
        for row in dump.read_out(table):
            member.write((_as_text(row) + "\n").encode())
            number += 1
    return number


def _files(archive: zipfile.ZipFile, data_dir: Path) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Put the data folder's files into the archive: those that a row names, and the key that signs sessions."""
    named = [f"{FOLDER}/{one}" for (one,) in run("SELECT file FROM attachments WHERE removed IS NULL").fetchall()]
    wanted = named + ([KEY] if (data_dir / KEY).exists() else [])
    kept, missing = [], []
    for name in wanted:
        if (data_dir / name).is_file():
            archive.write(data_dir / name, f"files/{name}")
            kept.append(name)
        else:
            missing.append(name)
    return tuple(kept), tuple(missing)


def taken_away(data_dir: Path) -> tuple[str, IO[bytes]]:
    """Make a backup of which nothing stays here; return its name and the open file, which its closing ends."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  # whoever sends it closes it
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        about = _filled(archive, data_dir)
    file.seek(0)
    return usual_name(about.made), file


# ---- reading one -----------------------------------------------------------------------------------------


def opened(path: Path) -> zipfile.ZipFile:
    """Open a backup's archive; raise Invalid when *path* holds none."""
    try:
        archive = zipfile.ZipFile(path)
        archive.getinfo(ABOUT)
    except FileNotFoundError:
        raise Invalid(f"There is no file {path}.") from None
    except (OSError, zipfile.BadZipFile, KeyError):
        raise Invalid(f"{path} is no backup of a bench, or was cut off: choose another file.") from None
    return archive


def about(archive: zipfile.ZipFile) -> BackupRecord:
    """Return what a backup holds; raise Invalid for one that a newer Benchproof made, or that is damaged."""
    try:
        said: dict[str, Any] = json.loads(archive.read(ABOUT))
        form = said.pop("form")
        if form > FORM:
            raise Invalid("A newer Benchproof made this backup: update this one first.", reason="too_new")
        lists: dict[str, Any] = {name: tuple(said[name]) for name in ("faults", "files", "missing", "steps")}
        return BackupRecord(**{**said, **lists, "made": datetime.fromisoformat(said["made"])})
    except (KeyError, TypeError, ValueError, zipfile.BadZipFile):
        raise damaged() from None


def damaged() -> Invalid:
    """Make the refusal of a backup that does not hold what it says."""
    return Invalid("This backup is damaged: choose another one.", reason="damaged")


def rows_of(archive: zipfile.ZipFile, table: str) -> tuple[list[str], Iterator[list[Any]]]:
    """Return the columns and the rows that a backup holds of a *table*; raise Invalid when they are damaged."""
    try:
        lines = iter(archive.open(f"tables/{table}.jsonl"))
        return json.loads(next(lines)), _rows(lines)
    except (KeyError, StopIteration, ValueError, zipfile.BadZipFile):
        raise damaged() from None


def _rows(lines: Iterator[bytes]) -> Iterator[list[Any]]:
    try:
        for line in lines:
            yield json.loads(line)
    except (ValueError, zipfile.BadZipFile, EOFError):  # a bad checksum shows at the end of a member
        raise damaged() from None
