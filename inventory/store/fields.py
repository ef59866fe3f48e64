"""Column types with the same meaning on SQLite and PostgreSQL."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import Any

import peewee

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
MICROS_PER_DAY = timedelta(days=1) // _MICROSECOND
_decode_json = json.JSONDecoder().decode


def to_micros(moment: datetime) -> int:
    """Return *moment* (aware) as whole microseconds since 1970 UTC.

    Raises ValueError for a time without a zone: the ledger keeps UTC and never guesses.
    """
    if moment.tzinfo is None:
        raise ValueError("A time needs its zone; the ledger keeps UTC.")
    return (moment - _EPOCH) // _MICROSECOND


def from_micros(micros: int) -> datetime:
    """Return the UTC time that *micros* microseconds since 1970 stand for."""
    return _EPOCH + timedelta(0, 0, micros)


class UtcField(peewee.BigIntegerField):
    """A moment in UTC, kept as whole microseconds since 1970: exact, sortable, the same on both databases."""

    def db_value(self, value: Any) -> Any:
        """Turn an aware datetime into microseconds."""
        return to_micros(value) if isinstance(value, datetime) else value

    def python_value(self, value: Any) -> Any:
        """Turn microseconds into an aware UTC datetime."""
        return None if value is None else from_micros(int(value))


class DayField(peewee.CharField):
    """A calendar day, kept as ISO 8601 text (YYYY-MM-DD), which sorts as it should."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"max_length": 10, **options})

    def db_value(self, value: Any) -> Any:
        """Turn a date into its ISO text."""
        return value.isoformat() if isinstance(value, date) else value

    def python_value(self, value: Any) -> Any:
        """Turn the ISO text into a date."""
        return date.fromisoformat(value) if value else None


class JsonField(peewee.TextField):
    """A small JSON value kept as text."""

    def db_value(self, value: Any) -> Any:
        """Turn the value into JSON text."""
        return None if value is None else json.dumps(value, ensure_ascii=False, sort_keys=True)

    def python_value(self, value: Any) -> Any:
        """Turn JSON text into the value."""
        return None if value is None else _decode_json(value)
