"""Backups: those the service made by itself, and one to take away now."""

from __future__ import annotations

from pathlib import Path

from flask import Response, render_template, send_file

from inventory.domain.backup import backup_archive, scheduled_backups
from inventory.domain.common.errors import NotFound
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.web.access import require_role


@pages.get("/backups")
@require_role("owner")
def backups() -> str:
    """Show the backups that are kept, and how the last one went."""
    folder = settings().backup_dir
    stored = scheduled_backups.stored_backups(Path(folder)) if folder else []
    return render_template(
        "alerts/backups.html", backups=stored, last=scheduled_backups.last_backup_status(), folder=folder
    )


@pages.get("/backups/<int:key>", endpoint="backup")
@require_role("owner")
def backups_for_alert(key: int) -> str:
    """Show the backups: what an alert about them leads to, whatever its number."""
    return backups()


@pages.get("/backups/now.zip")
@require_role("owner")
def download_new_backup() -> Response:
    """Make a backup and hand it out; nothing of it stays here."""
    name, file = backup_archive.open_download(settings().data_dir)
    return send_file(file, "application/zip", as_attachment=True, download_name=name)


@pages.get("/backups/<name>.zip")
@require_role("owner")
def download_saved_backup(name: str) -> Response:
    """Hand out a backup that is kept."""
    folder = Path(settings().backup_dir)
    if not settings().backup_dir or name not in {
        backup.name.removesuffix(".zip") for backup in scheduled_backups.stored_backups(folder)
    }:
        raise NotFound("There is no such backup: look at the list.")
    return send_file((folder / f"{name}.zip").resolve(), "application/zip", as_attachment=True)
