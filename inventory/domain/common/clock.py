"""The only source of the current time; it can be frozen to load history and in tests."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime

_frozen_at: ContextVar[datetime | None] = ContextVar("clock_set_to", default=None)


def now() -> datetime:
    """Return the current time in UTC."""
    return _frozen_at.get() or datetime.now(UTC)


def today() -> date:
    """Return the current day in UTC."""
    return now().date()


@contextmanager
def freeze_at(moment: datetime) -> Iterator[None]:
    """Freeze the clock at *moment* (aware) for the block."""
    token = _frozen_at.set(moment.astimezone(UTC))
    try:
        yield
    finally:
        _frozen_at.reset(token)
