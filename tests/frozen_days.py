"""One made-up Monday on which tests begin, and moments after it."""

from __future__ import annotations

from contextlib import AbstractContextManager
from datetime import UTC, datetime, timedelta

from inventory.domain.common import clock

MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)


def days_later(days: float) -> AbstractContextManager[None]:
    """Let the block happen so many days after the Monday; before it, if negative."""
    return clock.freeze_at(MONDAY + timedelta(days=days))
