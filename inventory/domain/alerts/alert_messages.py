"""Telling people: each open alert goes out once on each channel, is tried again when that fails, and is logged.

A message and the alerts in it are noted in one transaction before anything is sent, and each try is taken up by one
process alone. So two processes, a crash or a repeated run send nothing twice. A mail whose fate a crash left open
is not sent again; a webhook is, under the same delivery code, by which the receiver knows it.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from inventory.domain.alerts.alert_mail import (
    DeliveryError,
    MailSettings,
    build_mail,
    digest_subject,
    digest_text,
    send_mail,
)
from inventory.domain.alerts.alert_records import MESSAGE_STATES, AlertMessageRecord, AlertRecord
from inventory.domain.alerts.alert_webhook import WebhookSettings, post_webhook, webhook_body
from inventory.domain.alerts.alerts import refresh_alerts, unsent_alerts
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.validation import get_row, validated_choice
from inventory.store.connection import execute, transaction
from inventory.store.fields import to_micros
from inventory.store.tables import Alert, AlertDelivery, AlertMessage

MAIL, WEBHOOK = "mail", "webhook"
RETRY_MINUTES = (1, 5, 30, 120, 360, 720, 1440)  # tries; after the last one it has failed
STUCK_AFTER = timedelta(minutes=15)  # a try that takes longer was cut off
RETENTION = timedelta(days=180)
MAX_PER_RUN = 200


@dataclass(frozen=True)
class AlertChannels:
    """How alerts reach people besides the Today page. ``address``: of the service, for links."""

    bench: str
    address: str = ""
    mail: MailSettings | None = None
    webhook: WebhookSettings | None = None


@dataclass(frozen=True)
class SendResult:
    """What one run did: messages sent, put off to a later try, and failed for good; each error in words."""

    sent: int = 0
    later: int = 0
    failed: int = 0
    errors: tuple[str, ...] = ()

    def and_(self, other: SendResult) -> SendResult:
        """Add up."""
        return SendResult(
            self.sent + other.sent, self.later + other.later, self.failed + other.failed, self.errors + other.errors
        )


def send_alerts(channels: AlertChannels, *, digest_now: bool = True) -> SendResult:
    """Look for alerts, put what is untold into messages, and try every message that is due.

    *digest_now* False leaves new alerts for the mail of another time; messages begun are tried all the same.
    """
    refresh_alerts()
    if channels.mail is not None and digest_now:
        _queue_mail(channels)
    if channels.webhook is not None:
        _queue_webhooks(channels)
    _release_stuck()
    return _send_due(channels)


def pending_retries() -> tuple[int, datetime | None]:
    """Return how many messages failed and are to be tried again, and when the first of them is due."""
    query = AlertMessage.select(AlertMessage.next_try).where(
        AlertMessage.state == "waiting", AlertMessage.attempts > 0, AlertMessage.next_try > clock.now()
    )
    due = [message.next_try for message in query]
    return len(due), min(due, default=None)


# ---- writing messages ------------------------------------------------------------------------------------


def _queue_mail(channels: AlertChannels) -> None:
    if not unsent_alerts(MAIL):
        return
    with transaction():
        message = _new_message(MAIL)
        claimed = [alert for alert in unsent_alerts(MAIL) if _claim_alert(alert, message)]
        if not claimed:
            message.delete_instance()
            return
        text = f"{digest_subject(claimed, channels.bench)}\n{digest_text(claimed, channels.bench, channels.address)}"
        AlertMessage.update(body=text).where(AlertMessage.id == message.id).execute()


def _queue_webhooks(channels: AlertChannels) -> None:
    for alert in unsent_alerts(WEBHOOK):
        with transaction():
            message = _new_message(WEBHOOK)
            if not _claim_alert(alert, message):
                message.delete_instance()
                continue
            text = webhook_body(alert, message.code, channels.bench, channels.address)
            AlertMessage.update(body=text).where(AlertMessage.id == message.id).execute()


def _new_message(channel: str) -> Any:
    now = clock.now()
    return AlertMessage.create(
        code=uuid.uuid4().hex, channel=channel, state="waiting", body="", made=now, next_try=now
    )


def _claim_alert(alert: AlertRecord, message: Any) -> bool:
    """Put an alert into a message; tell whether it was in none of this channel before."""
    done = execute(
        "INSERT INTO alerts_told (alert_id, telling, channel, message_id) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
        alert.id, alert.telling, message.channel, message.id,
    )  # fmt: skip
    return int(done.rowcount) == 1


# ---- sending ---------------------------------------------------------------------------------------------


def _release_stuck() -> None:
    """Settle what was cut off in the middle of a try: a post is tried again, a mail's fate is not known."""
    cut_off = to_micros(clock.now() - STUCK_AFTER)
    stuck = "UPDATE alert_messages SET state = ?, error = ? WHERE state = 'sending' AND channel = ? AND next_try < ?"
    with transaction():
        execute(stuck, "waiting", "The last try was cut off.", WEBHOOK, cut_off)
        execute(stuck, "failed", "The try was cut off: it may have arrived, and is not sent again.", MAIL, cut_off)


def _send_due(channels: AlertChannels) -> SendResult:
    senders: dict[str, Callable[[Any], None]] = {}
    if (mail := channels.mail) is not None:
        senders[MAIL] = lambda message: _send_mail_message(mail, message)
    if (webhook := channels.webhook) is not None:
        senders[WEBHOOK] = lambda message: post_webhook(webhook, message.code, message.body, clock.now())
    due = AlertMessage.select().where(
        AlertMessage.state == "waiting", AlertMessage.next_try <= clock.now(), AlertMessage.channel << list(senders)
    )
    outcome = SendResult()
    for message in list(due.order_by(AlertMessage.id).limit(MAX_PER_RUN)):
        if _claim_message(message):
            outcome = outcome.and_(_attempt_message(message, senders[message.channel]))
    return outcome


def _send_mail_message(mail: MailSettings, message: Any) -> None:
    about, _, text = message.body.partition("\n")
    send_mail(mail, build_mail(mail, message.code, about, text, message.made))


def _claim_message(message: Any) -> bool:
    """Take up a try; tell whether nobody else did. A repetition that is about nothing any more is dropped."""
    with transaction():
        changes: dict[str, Any] = {"state": "sending", "attempts": message.attempts + 1, "next_try": clock.now()}
        if message.attempts and not _is_still_relevant(message):
            changes = {"state": "dropped", "finished": clock.now()}
        taken = (
            AlertMessage.update(**changes)
            .where(
                AlertMessage.id == message.id,
                AlertMessage.state == "waiting",
                AlertMessage.attempts == message.attempts,
            )
            .execute()
        )
    message.attempts += 1
    return bool(taken == 1 and changes["state"] == "sending")


def _is_still_relevant(message: Any) -> bool:
    about = (
        AlertDelivery.select()
        .join(Alert)
        .where(AlertDelivery.message == message.id, Alert.gone.is_null(), Alert.done.is_null())
    )
    return bool(about.exists())


def _attempt_message(message: Any, send: Callable[[Any], None]) -> SendResult:
    """Send a message that was taken up (outside any transaction), and note what came of it."""
    try:
        send(message)
    except DeliveryError as error:
        return _record_failure(message, error)
    _update_message(message, state="sent", finished=clock.now(), error="")
    return SendResult(sent=1)


def _record_failure(message: Any, error: DeliveryError) -> SendResult:
    sentence = str(error)
    if error.final or message.attempts > len(RETRY_MINUTES):
        _update_message(message, state="failed", finished=clock.now(), error=sentence)
        return SendResult(failed=1, errors=(sentence,))
    wait = timedelta(minutes=RETRY_MINUTES[message.attempts - 1])
    _update_message(message, state="waiting", next_try=clock.now() + wait, error=sentence)
    return SendResult(later=1, errors=(sentence,))


def _update_message(message: Any, **changes: Any) -> None:
    with transaction():
        AlertMessage.update(**changes).where(AlertMessage.id == message.id).execute()


# ---- the log ---------------------------------------------------------------------------------------------


def messages(*, state: str | None = None, after: str | None = None, limit: int = 50) -> ResultPage:
    """Return what went out and what is to go out, newest first."""
    query = AlertMessage.select()
    if state is not None:
        query = query.where(AlertMessage.state == validated_choice(state, "state", MESSAGE_STATES))
    page = paginate(query, AlertMessage.id, after, limit, lambda row: row, descending=True)
    titles = _alert_titles([row.id for row in page.items])
    return ResultPage(
        [from_row(AlertMessageRecord, row, alerts=tuple(titles.get(row.id, ()))) for row in page.items], page.next
    )


def message(message_id: int) -> AlertMessageRecord:
    """Return one message."""
    row = get_row(AlertMessage, message_id, "message")
    return from_row(AlertMessageRecord, row, alerts=tuple(_alert_titles([message_id]).get(message_id, ())))


def _alert_titles(message_ids: Sequence[int]) -> dict[int, list[str]]:
    titles: dict[int, list[str]] = {}
    query: Any = (
        AlertDelivery.select(AlertDelivery, Alert).join(Alert).where(AlertDelivery.message << list(message_ids))
    )
    for delivery in query.order_by(Alert.id):
        titles.setdefault(delivery.message_id, []).append(delivery.alert.title)
    return titles


def retry_message(message_id: int) -> AlertMessageRecord:
    """Let a message that failed be tried again at the next run."""
    with transaction():
        row = get_row(AlertMessage, message_id, "message")
        if row.state not in ("failed", "waiting"):
            raise Conflict(f"That message is {row.state}: there is nothing to try again.", reason="not_failed")
        changes = {"state": "waiting", "attempts": 0, "next_try": clock.now(), "finished": None}
        AlertMessage.update(**changes).where(AlertMessage.id == message_id).execute()
        return message(message_id)


def last_message_at(channel: str) -> datetime | None:
    """Return when the newest message of a channel was made."""
    newest: Any = (
        AlertMessage.select().where(AlertMessage.channel == channel).order_by(AlertMessage.id.desc()).first()
    )
    return None if newest is None else newest.made


def delete_old_messages() -> int:
    """Drop messages older than half a year that are done with, but those about alerts that last; return how many."""
    old = (
        "SELECT m.id FROM alert_messages m WHERE m.made < ? AND m.state NOT IN ('waiting', 'sending')"
        " AND m.id NOT IN (SELECT t.message_id FROM alerts_told t JOIN alerts a ON a.id = t.alert_id"
        " WHERE a.gone IS NULL)"
    )
    last = to_micros(clock.now() - RETENTION)
    with transaction():
        execute(f"DELETE FROM alerts_told WHERE message_id IN ({old})", last)
        return int(execute(f"DELETE FROM alert_messages WHERE id IN ({old})", last).rowcount)
