"""Backups: those the service made by itself, and one to take away now."""

from __future__ import annotations

from pathlib import Path

from flask import Response, render_template, send_file

from inventory.domain.backup import backup_archive, scheduled_backups
from inventory.domain.common.errors import NotFound
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.web.access import for_role


@pages.get("/backups")
@for_role("owner")
def backups() -> str:
    """Show the backups that are kept, and how the last one went."""
    folder = settings().backup_dir
    found = scheduled_backups.kept(Path(folder)) if folder else []
    return render_template("alerts/backups.html", found=found, last=scheduled_backups.last_try(), folder=folder)


@pages.get("/backups/<int:key>", endpoint="backup")
@for_role("owner")
def backups_by_number(key: int) -> str:
    """Show the backups: what an alert about them leads to, whatever its number."""
    return backups()


@pages.get("/backups/now.zip")
@for_role("owner")
def backup_now() -> Response:
    """Make a backup and hand it out; nothing of it stays here."""
    name, file = backup_archive.taken_away(settings().data_dir)
    return send_file(file, "application/zip", as_attachment=True, download_name=name)


@pages.get("/backups/<name>.zip")
@for_role("owner")
def kept_backup(name: str) -> Response:
    """Hand out a backup that is kept."""
    folder = Path(settings().backup_dir)
    if not settings().backup_dir or name not in {
        one.name.removesuffix(".zip") for one in scheduled_backups.kept(folder)
    }:
        raise NotFound("There is no such backup: look at the list.")
    return send_file((folder / f"{name}.zip").resolve(), "application/zip", as_attachment=True)
