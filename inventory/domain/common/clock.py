"""The one place that asks what time it is, so that history can be loaded and tests can wait for nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime

_set_to: ContextVar[datetime | None] = ContextVar("clock_set_to", default=None)


def now() -> datetime:
    """Return the present moment in UTC."""
    return _set_to.get() or datetime.now(UTC)


def today() -> date:
    """Return the present day in UTC."""
    return now().date()


@contextmanager
def set_to(moment: datetime) -> Iterator[None]:
    """Let the block believe that it is *moment* (aware)."""
    token = _set_to.set(moment.astimezone(UTC))
    try:
        yield
    finally:
        _set_to.reset(token)
