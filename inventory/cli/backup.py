"""`benchproof backup` and `benchproof restore`: the whole bench in one file, and back."""

from __future__ import annotations

from pathlib import Path

import click

from inventory.cli.common import close_database_on_exit, open_database, show_errors_as_sentences
from inventory.domain.backup import backup_archive as backing_up
from inventory.domain.backup.backup_archive import BackupRecord
from inventory.domain.backup.restore import restore_backup, trial_restore
from inventory.domain.common import clock
from inventory.settings import load_settings
from inventory.store import connection


@click.command("backup")
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=True))
@show_errors_as_sentences
def backup_command(file: Path | None) -> None:
    """Write the whole bench to FILE (a folder: under a name with the time; left out: here).

    The service may run meanwhile. The file holds everything, the passphrases' digests and the key that signs sessions
    too: keep it where only the owner gets at it.
    """
    settings = open_database()
    place = file or Path()
    path = place / backing_up.backup_name(clock.now()) if place.is_dir() else place
    backup = backing_up.write_backup(path, settings.data_dir)
    click.echo(f"{path}: {_backup_summary(backup)}")
    for name in backup.missing:
        click.echo(f"MISSING  {name} is not in {settings.data_dir}, though a lot has it.")
    for fault in backup.faults:
        click.echo(f"WRONG  {fault}")
    if not backup.sound:
        raise click.exceptions.Exit(1)


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--try", "only_try", is_flag=True, help="Only try it: into a place that is thrown away.")
@show_errors_as_sentences
def restore_command(file: Path, only_try: bool) -> None:
    """Put the backup FILE into a new data folder or a new database.

    SQLite or PostgreSQL, whichever it came from. Its ledger is walked and every balance added up first; what does not
    add up is not kept.
    """
    settings = load_settings()
    if only_try:
        click.echo(f"It can be restored: {_backup_summary(trial_restore(file))}")
        return
    close_database_on_exit()
    connection.bind_database(settings.resolved_database_url)
    connection.connect()
    backup = restore_backup(file, settings.data_dir)
    click.echo(f"Restored: {_backup_summary(backup)}")
    click.echo("The ledger is as it was, and every balance adds up." if backup.sound else "The ledger was NOT sound.")


def _backup_summary(backup: BackupRecord) -> str:
    rows, files = sum(backup.rows.values()), len(backup.files)
    return (
        f"made {backup.made:%Y-%m-%d %H:%M} UTC, {rows:,} rows and {files} file{'' if files == 1 else 's'}; "
        f"ledger of {backup.lines:,} lines, digest {backup.digest}"
    )
