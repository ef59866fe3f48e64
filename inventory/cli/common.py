"""What every command shares: opening the bench's database, and showing what went wrong as a sentence."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import click
import peewee

from inventory.domain.common.errors import Refused
from inventory.settings import BadSetting, Settings, load_settings
from inventory.store import connection, schema


class Trouble(click.ClickException):
    """Something a person can mend; shown as one sentence."""


def plain_errors(command: Callable[..., Any]) -> Callable[..., Any]:
    """Show refusals, bad settings and an unreachable database as a sentence, never as a traceback."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except Refused as refused:
            raise Trouble(refused.sentence) from None
        except (BadSetting, schema.TooNew) as bad:
            raise Trouble(str(bad)) from None
        except peewee.OperationalError as error:
            raise Trouble(
                f"The database does not answer ({str(error).strip()}): check BENCHPROOF_DATABASE_URL."
            ) from None

    return run


def open_bench() -> Settings:
    """Bind and bring up the database of the environment's settings; it is closed when the command ends.

    A bench that this process had open before is closed first: binding another would leave its connection to
    PostgreSQL behind, open, for the server to find out.
    """
    settings = load_settings()
    close_when_done()
    connection.bind(settings.resolved_database_url)
    connection.ready()
    schema.bring_up()
    return settings


def close_when_done() -> None:
    """Close the database that is open, and the one that this command binds when the command ends."""
    _close()
    click.get_current_context().call_on_close(_close)


def _close() -> None:
    if connection.database.obj is not None:
        connection.database.close()
