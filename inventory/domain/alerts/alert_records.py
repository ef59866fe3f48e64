"""Plain records of alerts and of the messages about them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from inventory.domain.common.described import About

ALERT_KINDS = {
    "overdue": "Swap tests overdue",
    "promised": "Jobs promised by today",
    "ready": "Jobs that can go on",
    "held": "Jobs with something of a lot on hold",
    "reorder": "To order",
    "late": "Orders late",
    "check": "Deliveries to be tested",
    "hold": "Lots on hold",
    "past": "Past their date",
    "soon": "Soon past their date",
    "spare": "Spares to prove again",
    "backup": "No backup of late",
}
"""Every kind of alert in the order of a digest, with its heading."""

MESSAGE_STATES = ("waiting", "sending", "sent", "failed", "dropped")
ALERT_STATES = ("open", "postponed", "done", "gone")


@dataclass(frozen=True)
class AlertRecord:
    """One thing to act on. ``telling`` counts how often it was, or is to be, told."""

    id: Annotated[int, "Its id."]
    key: Annotated[str, About("What it is about, always written alike.", example="late:7")]
    kind: Annotated[str, About("What kind of thing it is.", choices=tuple(ALERT_KINDS))]
    title: Annotated[str, "What needs doing, in a few words."]
    detail: Annotated[str, "More about it."]
    what: Annotated[str, About("What kind of thing to open.", example="order")]
    what_id: Annotated[int, "The id of that thing."]
    urgent: Annotated[bool, "It comes first."]
    raised: Annotated[datetime, "When it was raised."]
    changed: Annotated[datetime, "When something about it changed."]
    telling: Annotated[int, About("Counts up when it is told anew.", maximum=None)]
    gone: Annotated[datetime | None, "When its cause was over; null: it lasts."]
    done: Annotated[datetime | None, "When somebody marked it as done."]
    done_by: Annotated[str, "Who did."]
    postponed_until: Annotated[date | None, "The day until which it is postponed."]
    version: Annotated[int, About("Counts its changes.", maximum=None)]

    @property
    def state(self) -> Annotated[str, About(choices=ALERT_STATES)]:
        """What became of it."""
        if self.gone is not None:
            return "gone"
        if self.done is not None:
            return "done"
        return "open" if self.postponed_until is None else "postponed"


@dataclass(frozen=True)
class AlertMessageRecord:
    """What went out about alerts, or is to go out. ``state``: waiting, sending, sent, failed, dropped."""

    id: Annotated[int, "Its id."]
    code: Annotated[str, "By which the receiver knows a repetition."]
    channel: Annotated[str, About("How it goes.", choices=("mail", "webhook"))]
    state: Annotated[str, About("What became of it.", choices=MESSAGE_STATES)]
    made: Annotated[datetime, "When it was written."]
    attempts: Annotated[int, About("How often it was tried.", maximum=None)]
    next_try: Annotated[datetime, "When it is, or was, tried next."]
    finished: Annotated[datetime | None, "When it was sent, given up or dropped."]
    error: Annotated[str, "Why the last try failed."]
    alerts: Annotated[tuple[str, ...], "Titles of the alerts in it."]
