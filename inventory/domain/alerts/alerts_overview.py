"""The Alerts page (what is open, put off, seen and lately over, what went out about it), and the Today page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.alerts.alert_records import AlertMessageRecord, AlertRecord
from inventory.domain.alerts.alert_sources import alert_candidates, alert_key
from inventory.domain.alerts.today import Today, gather_today
from inventory.store.tables import Balance, Bin, Job, Movement, Piece

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
    states = {state: [alert for alert in lasting if alert.state == state] for state in ("open", "postponed", "done")}
    return AlertsScreen(
        alerts.alerts_by_heading(states["open"]),
        tuple(sorted(states["postponed"], key=lambda alert: (str(alert.postponed_until), alert.id))),
        tuple(states["done"]),
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
        return self.alerts.get(alert_key(kind, *of))


def today_screen() -> TodayScreen:
    """Gather what needs doing, leave out what was seen or put off, and bring the alerts up to it."""
    today = gather_today()
    lasting = alerts.refresh_alerts(today)
    quieted = {alert.key for alert in lasting if alert.state != "open"}
    open_alerts = {alert.key: alert for alert in lasting if alert.key not in quieted}
    return TodayScreen(_without_quieted(today, quieted), open_alerts, len(quieted), first_steps())


def _without_quieted(today: Today, quieted: set[str]) -> Today:
    """Leave out of a day the items whose alerts have these keys; what belongs to no alert stays."""
    if not quieted:
        return today
    left_out = {id(candidate.item) for candidate in alert_candidates(today) if candidate.key in quieted}
    lists = {
        name: tuple(item for item in items if id(item) not in left_out)
        for name, items in vars(today).items()
        if name != "backup"
    }
    return replace(today, **lists, backup=None if id(today.backup) in left_out else today.backup)


# ---- the first hour --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class FirstSteps:
    """Which steps to the first pull are done."""

    bins: bool  # some bin has a name
    stock: bool  # something is on the shelf
    jobs: bool  # a job was opened


def first_steps() -> FirstSteps | None:
    """Return what is done of the first hour; None once anything was taken, for the bench is at work then."""
    if _exists(Movement.select(Movement.id).where(Movement.kind == "pull")):
        return None
    return FirstSteps(
        bins=_exists(Bin.select(Bin.id).where(Bin.name.is_null(False), ~Bin.retired)),
        stock=_exists(Balance.select(Balance.part).where(Balance.quantity > 0))
        or _exists(Piece.select(Piece.id).where(Piece.bin.is_null(False))),
        jobs=_exists(Job.select(Job.id)),
    )


def _exists(query: Any) -> bool:
    return bool(query.limit(1).tuples().first())
