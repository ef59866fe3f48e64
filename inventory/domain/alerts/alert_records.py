"""Plain records of alerts and of the messages about them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

ALERT_STATES = ("open", "postponed", "done", "gone")


@dataclass(frozen=True)
class AlertRecord:
    """One thing to act on. ``telling`` counts how often it was, or is to be, told."""

    id: int
    key: str
    kind: str
    title: str
    detail: str
    what: str
    what_id: int
    urgent: bool
    raised: datetime
    changed: datetime
    telling: int
    gone: datetime | None
    done: datetime | None
    done_by: str
    postponed_until: date | None
    version: int

    @property
    def state(self) -> str:
        """What became of it: open, postponed until a day, marked as done by somebody, or gone by itself."""
        if self.gone is not None:
            return "gone"
        if self.done is not None:
            return "done"
        return "open" if self.postponed_until is None else "postponed"


@dataclass(frozen=True)
class AlertMessageRecord:
    """What went out about alerts, or is to go out. ``state``: waiting, sending, sent, failed, dropped."""

    id: int
    code: str
    channel: str
    state: str
    made: datetime
    attempts: int
    next_try: datetime
    finished: datetime | None
    error: str
    alerts: tuple[str, ...]  # their titles
