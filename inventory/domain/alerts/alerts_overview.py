"""The Alerts page: what is open, put off, seen and lately over; what went out about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.alerts.alert_records import AlertMessageRecord, AlertRecord
from inventory.domain.alerts.first_steps import FirstSteps, first_steps
from inventory.domain.alerts.today import Today, gather_today

MAX_GONE, MAX_MESSAGES = 20, 20


@dataclass(frozen=True)
class AlertsScreen:
    """Alerts by what became of them. ``open`` comes under headings, the urgent first in each."""

    open: dict[str, list[AlertRecord]]
    postponed: tuple[AlertRecord, ...]
    done: tuple[AlertRecord, ...]
    gone: tuple[AlertRecord, ...]
    messages: tuple[AlertMessageRecord, ...]

    @property
    def nothing(self) -> bool:
        """Tell whether nothing lasts."""
        return not (self.open or self.postponed or self.done)


def alerts_screen() -> AlertsScreen:
    """Gather the alerts as they stand now."""
    lasting = alerts.refresh_alerts()
    states = {state: [one for one in lasting if one.state == state] for state in ("open", "postponed", "done")}
    return AlertsScreen(
        alerts.alerts_by_heading(states["open"]),
        tuple(sorted(states["postponed"], key=lambda one: (str(one.postponed_until), one.id))), tuple(states["done"]),
        tuple(alerts.alerts(state="gone", limit=MAX_GONE).items),
        tuple(alert_messages.messages(limit=MAX_MESSAGES).items),
    )  # fmt: skip


# ---- Today -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class TodayScreen:
    """Today without what somebody has seen or put off (``quieted`` says how much that is).

    ``first``: how far a new bench has come, until something was taken.
    """

    today: Today
    alerts: Mapping[str, AlertRecord]  # open ones, by key
    quieted: int
    first: FirstSteps | None

    def alert(self, kind: str, *of: object) -> AlertRecord | None:
        """Return the open alert of a thing, to be seen or put off."""
        return self.alerts.get(f"{kind}:{':'.join(str(one) for one in of)}")


def today_screen() -> TodayScreen:
    """Gather what needs doing, leave out what was seen or put off, and bring the alerts up to it."""
    day = gather_today()
    lasting = alerts.refresh_alerts(day)
    quiet = {one.key for one in lasting if one.state != "open"}
    loud = {one.key: one for one in lasting if one.key not in quiet}
    return TodayScreen(_without_quieted(day, quiet), loud, len(quiet), first_steps())


def _without_quieted(day: Today, quiet: set[str]) -> Today:
    """Leave out of a day what is under these keys; what belongs to no alert stays."""
    if not quiet:
        return day

    def loud(things: Any, key: Any) -> tuple[Any, ...]:
        return tuple(thing for thing in things if key(thing) not in quiet)

    return replace(
        day,
        out=loud(day.out, lambda one: f"overdue:{one.id}"),
        waiting=loud(day.waiting, lambda one: f"ready:{one.job.id}"),
        due=loud(day.due, lambda one: f"promised:{one.id}"),
        held_in_jobs=loud(day.held_in_jobs, lambda one: f"held:{one.lot.id}:{one.job.id}"),
        checks=loud(day.checks, lambda one: f"check:{one.id}"),
        on_hold=loud(day.on_hold, lambda one: f"hold:{one.lot.id}"),
        dated=loud(day.dated, lambda one: f"{'past' if one.past else 'soon'}:{one.lot.id}"),
        doubted=loud(day.doubted, lambda one: f"spare:{one.piece.id}:{one.standing.word}"),
        backup=None if "backup:daily" in quiet else day.backup,
        late=loud(day.late, lambda one: f"late:{one.id}"),
        to_order=loud(day.to_order, lambda one: f"reorder:{one.part.id}"),
    )
