"""What every command shares: opening the bench's database, and showing what went wrong as a sentence."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import click
import peewee

from inventory.domain.common.errors import DomainError
from inventory.settings import BadSetting, Settings, load_settings
from inventory.store import connection, schema


class CommandError(click.ClickException):
    """Something a person can mend; shown as one sentence."""


class BadInputFile(CommandError):
    """A file that a command was given cannot be used as it is: exit code 2, as for a wrong option."""

    exit_code = 2


def show_errors_as_sentences(command: Callable[..., Any]) -> Callable[..., Any]:
    """Show refusals, bad settings and an unreachable database as a sentence, never as a traceback."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except DomainError as refused:
            raise CommandError(refused.sentence) from None
        except (BadSetting, schema.SchemaTooNew) as bad:
            raise CommandError(str(bad)) from None
        except peewee.OperationalError as error:
            raise CommandError(
                f"The database does not answer ({str(error).strip()}): check BENCHPROOF_DATABASE_URL."
            ) from None

    return run


def open_database() -> Settings:
    """Bind and bring up the database of the environment's settings; it is closed when the command ends.

    A bench that this process had open before is closed first: binding another would leave its connection to
    PostgreSQL behind, open, for the server to find out.
    """
    settings = load_settings()
    close_database_on_exit()
    schema.open_database(settings.resolved_database_url)
    return settings


def close_database_on_exit() -> None:
    """Close the database that is open, and the one that this command binds when the command ends."""
    _close_database()
    click.get_current_context().call_on_close(_close_database)


def _close_database() -> None:
    if connection.database.obj is not None:
        connection.database.close()
