"""/alerts and /alert-messages: what needs doing, marked as done or postponed, and the messages about it."""

from __future__ import annotations

from typing import Any

from inventory.api.alerts.alert_schemas import AlertMessageOut, AlertMessagesQuery, AlertOut, AlertsQuery, PostponeIn
from inventory.api.resource import Resource
from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.alerts.alert_records import AlertMessageRecord, AlertRecord
from inventory.domain.common.records import ResultPage
from inventory.web.access import current_person, require_role

resource = Resource("alerts", "What needs doing, told to people once.")
ALERT, MESSAGE = AlertOut(), AlertMessageOut()


@resource.get("/alerts")
@resource.arguments(AlertsQuery(), location="query")
@resource.listed(ALERT)
def alert_list(params: dict[str, Any]) -> ResultPage:
    """List alerts as they stand now, newest first."""
    return alerts.current_alerts(**params)


@resource.get("/alerts/<key:alert_id>")
@resource.response(200, ALERT)
def alert(alert_id: int) -> AlertRecord:
    """Read an alert."""
    return alerts.alert(alert_id)


@resource.post("/alerts/<key:alert_id>/done")
@resource.response(200, ALERT)
def mark_alert_done(alert_id: int) -> AlertRecord:
    """Mark an alert as done: nothing more is sent about it while it lasts."""
    return alerts.mark_alert_done(alert_id, by=current_person().id)


@resource.post("/alerts/<key:alert_id>/postpone")
@resource.arguments(PostponeIn())
@resource.response(200, ALERT)
def postpone_alert(data: dict[str, Any], alert_id: int) -> AlertRecord:
    """Postpone an alert until a day, on which it is sent again if it still lasts."""
    return alerts.postpone_alert(alert_id, data["until"])


@resource.post("/alerts/<key:alert_id>/reopen")
@resource.response(200, ALERT)
def reopen_alert(alert_id: int) -> AlertRecord:
    """Reopen an alert that was marked as done or postponed."""
    return alerts.reopen_alert(alert_id)


@resource.get("/alert-messages")
@require_role("owner")
@resource.arguments(AlertMessagesQuery(), location="query")
@resource.listed(MESSAGE)
def messages(params: dict[str, Any]) -> ResultPage:
    """List what went out and what is to go out, newest first."""
    return alert_messages.messages(**params)


@resource.get("/alert-messages/<key:message_id>")
@require_role("owner")
@resource.response(200, MESSAGE)
def message(message_id: int) -> AlertMessageRecord:
    """Read what became of a message."""
    return alert_messages.message(message_id)


@resource.post("/alert-messages/<key:message_id>/try-again")
@require_role("owner")
@resource.response(200, MESSAGE, with_etag=False)
def retry_message(message_id: int) -> AlertMessageRecord:
    """Let a message that failed be tried again at the next sending."""
    return alert_messages.retry_message(message_id)
