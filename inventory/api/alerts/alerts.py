"""/alerts and /alert-messages: what needs doing, ticked off or put off, and what went out about it."""

from __future__ import annotations

from typing import Any

from inventory.api.alerts.alert_schemas import AlertOut, AlertsQuery, MessageOut, MessagesQuery, SnoozeIn
from inventory.api.resource import Resource
from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.alerts.alert_records import AlertRecord, MessageRecord
from inventory.domain.common.records import Page
from inventory.web.access import caller, for_role

resource = Resource("alerts", "What needs doing, told to people once.")
ALERT, MESSAGE = AlertOut(), MessageOut()


@resource.get("/alerts")
@resource.arguments(AlertsQuery(), location="query")
@resource.listed(ALERT)
def alert_list(asked: dict[str, Any]) -> Page:
    """List alerts as they stand now, newest first."""
    return alerts.current_alerts(**asked)


@resource.get("/alerts/<key:alert_id>")
@resource.response(200, ALERT)
def alert(alert_id: int) -> AlertRecord:
    """Read an alert."""
    return alerts.alert(alert_id)


@resource.post("/alerts/<key:alert_id>/acknowledge")
@resource.response(200, ALERT)
def acknowledge(alert_id: int) -> AlertRecord:
    """Tick an alert off: no more is heard of it while it lasts."""
    return alerts.acknowledge(alert_id, by=caller().id)


@resource.post("/alerts/<key:alert_id>/snooze")
@resource.arguments(SnoozeIn())
@resource.response(200, ALERT)
def snooze(given: dict[str, Any], alert_id: int) -> AlertRecord:
    """Put an alert off until a day, on which it is told again if it still lasts."""
    return alerts.snooze(alert_id, given["until"])


@resource.post("/alerts/<key:alert_id>/wake")
@resource.response(200, ALERT)
def wake(alert_id: int) -> AlertRecord:
    """Take back that an alert was ticked off or put off."""
    return alerts.wake(alert_id)


@resource.get("/alert-messages")
@for_role("owner")
@resource.arguments(MessagesQuery(), location="query")
@resource.listed(MESSAGE)
def messages(asked: dict[str, Any]) -> Page:
    """List what went out and what is to go out, newest first."""
    return alert_messages.messages(**asked)


@resource.get("/alert-messages/<key:message_id>")
@for_role("owner")
@resource.response(200, MESSAGE)
def message(message_id: int) -> MessageRecord:
    """Read what became of a message."""
    return alert_messages.message(message_id)


@resource.post("/alert-messages/<key:message_id>/try-again")
@for_role("owner")
@resource.response(200, MESSAGE, entity=False)
def try_again(message_id: int) -> MessageRecord:
    """Let a message that failed be tried again at the next sending."""
    return alert_messages.try_again(message_id)
