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

from inventory.domain.alerts.alert_mail import Mail, NotSent, digest, hand_over, letter, subject
from inventory.domain.alerts.alert_records import AlertRecord, MessageRecord
from inventory.domain.alerts.alert_webhook import Webhook, body, post
from inventory.domain.alerts.alerts import refresh, untold
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict
from inventory.domain.common.paging import page_of
from inventory.domain.common.records import Page, read
from inventory.domain.common.validation import one_of, row
from inventory.store.connection import run, writing
from inventory.store.fields import to_micros
from inventory.store.tables import Alert, AlertMessage, AlertTold

MAIL, WEBHOOK = "mail", "webhook"
STATES = ("waiting", "sending", "sent", "failed", "dropped")
MINUTES_BETWEEN = (1, 5, 30, 120, 360, 720, 1440)  # tries; after the last one it has failed
STUCK = timedelta(minutes=15)  # a try that takes longer was cut off
KEEP = timedelta(days=180)
MOST_AT_A_TIME = 200


@dataclass(frozen=True)
class Channels:
    """How alerts reach people besides the Today page. ``address``: of the service, for links."""

    bench: str
    address: str = ""
    mail: Mail | None = None
    webhook: Webhook | None = None


@dataclass(frozen=True)
class Sent:
    """What one run did: messages sent, put off to a later try, and failed for good; each error in words."""

    sent: int = 0
    later: int = 0
    failed: int = 0
    errors: tuple[str, ...] = ()

    def and_(self, other: Sent) -> Sent:
        """Add up."""
        return Sent(
            self.sent + other.sent, self.later + other.later, self.failed + other.failed, self.errors + other.errors
        )


def send_alerts(channels: Channels, *, digest_now: bool = True) -> Sent:
    """Look for alerts, put what is untold into messages, and try every message that is due.

    *digest_now* False leaves new alerts for the mail of another time; messages begun are tried all the same.
    """
    refresh()
    if channels.mail is not None and digest_now:
        _write_mail(channels)
    if channels.webhook is not None:
        _write_posts(channels)
    _free_stuck()
    return _try_due(channels)


def to_be_tried() -> tuple[int, datetime | None]:
    """Return how many messages failed and are to be tried again, and when the first of them is due."""
    query = AlertMessage.select(AlertMessage.next_try).where(
        AlertMessage.state == "waiting", AlertMessage.attempts > 0, AlertMessage.next_try > clock.now()
    )
    due = [one.next_try for one in query]
    return len(due), min(due, default=None)


# ---- writing messages ------------------------------------------------------------------------------------


def _write_mail(channels: Channels) -> None:
    if not untold(MAIL):
        return
    with writing():
        message = _new(MAIL)
        some = [one for one in untold(MAIL) if _claimed(one, message)]
        if not some:
            message.delete_instance()
            return
        text = f"{subject(some, channels.bench)}\n{digest(some, channels.bench, channels.address)}"
        AlertMessage.update(body=text).where(AlertMessage.id == message.id).execute()


def _write_posts(channels: Channels) -> None:
    for one in untold(WEBHOOK):
        with writing():
            message = _new(WEBHOOK)
            if not _claimed(one, message):
                message.delete_instance()
                continue
            text = body(one, message.code, channels.bench, channels.address)
            AlertMessage.update(body=text).where(AlertMessage.id == message.id).execute()


def _new(channel: str) -> Any:
    now = clock.now()
    return AlertMessage.create(
        code=uuid.uuid4().hex, channel=channel, state="waiting", body="", made=now, next_try=now
    )


def _claimed(one: AlertRecord, message: Any) -> bool:
    """Put an alert into a message; tell whether it was in none of this channel before."""
    done = run(
        "INSERT INTO alerts_told (alert_id, telling, channel, message_id) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
        one.id, one.telling, message.channel, message.id,
    )  # fmt: skip
    return int(done.rowcount) == 1


# ---- sending ---------------------------------------------------------------------------------------------


def _free_stuck() -> None:
    """Settle what was cut off in the middle of a try: a post is tried again, a mail's fate is not known."""
    cut_off = to_micros(clock.now() - STUCK)
    stuck = "UPDATE alert_messages SET state = ?, error = ? WHERE state = 'sending' AND channel = ? AND next_try < ?"
    with writing():
        run(stuck, "waiting", "The last try was cut off.", WEBHOOK, cut_off)
        run(stuck, "failed", "The try was cut off: it may have arrived, and is not sent again.", MAIL, cut_off)


def _try_due(channels: Channels) -> Sent:
    senders: dict[str, Callable[[Any], None]] = {}
    if (mail := channels.mail) is not None:
        senders[MAIL] = lambda message: _mail(mail, message)
    if (webhook := channels.webhook) is not None:
        senders[WEBHOOK] = lambda message: post(webhook, message.code, message.body, clock.now())
    due = AlertMessage.select().where(
        AlertMessage.state == "waiting", AlertMessage.next_try <= clock.now(), AlertMessage.channel << list(senders)
    )
    outcome = Sent()
    for message in list(due.order_by(AlertMessage.id).limit(MOST_AT_A_TIME)):
        if _taken_up(message):
            outcome = outcome.and_(_try(message, senders[message.channel]))
    return outcome


def _mail(mail: Mail, message: Any) -> None:
    about, _, text = message.body.partition("\n")
    hand_over(mail, letter(mail, message.code, about, text, message.made))


def _taken_up(message: Any) -> bool:
    """Take up a try; tell whether nobody else did. A repetition that is about nothing any more is dropped."""
    with writing():
        changes: dict[str, Any] = {"state": "sending", "attempts": message.attempts + 1, "next_try": clock.now()}
        if message.attempts and not _still_matters(message):
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


def _still_matters(message: Any) -> bool:
    about = (
        AlertTold.select()
        .join(Alert)
        .where(AlertTold.message == message.id, Alert.gone.is_null(), Alert.acknowledged.is_null())
    )
    return bool(about.exists())


def _try(message: Any, send: Callable[[Any], None]) -> Sent:
    """Send a message that was taken up (outside any transaction), and note what came of it."""
    try:
        send(message)
    except NotSent as error:
        return _not_sent(message, error)
    _note(message, state="sent", finished=clock.now(), error="")
    return Sent(sent=1)


def _not_sent(message: Any, error: NotSent) -> Sent:
    said = str(error)
    if error.final or message.attempts > len(MINUTES_BETWEEN):
        _note(message, state="failed", finished=clock.now(), error=said)
        return Sent(failed=1, errors=(said,))
    wait = timedelta(minutes=MINUTES_BETWEEN[message.attempts - 1])
    _note(message, state="waiting", next_try=clock.now() + wait, error=said)
    return Sent(later=1, errors=(said,))


def _note(message: Any, **changes: Any) -> None:
    with writing():
        AlertMessage.update(**changes).where(AlertMessage.id == message.id).execute()


# ---- the log ---------------------------------------------------------------------------------------------


def messages(*, state: str | None = None, after: str | None = None, limit: int = 50) -> Page:
    """Return what went out and what is to go out, newest first."""
    query = AlertMessage.select()
    if state is not None:
        query = query.where(AlertMessage.state == one_of(state, "state", STATES))
    page = page_of(query, AlertMessage.id, after, limit, lambda one: one, falling=True)
    titles = _titles([one.id for one in page.items])
    return Page([read(MessageRecord, one, alerts=tuple(titles.get(one.id, ()))) for one in page.items], page.next)


def message(message_id: int) -> MessageRecord:
    """Return one message."""
    found = row(AlertMessage, message_id, "message")
    return read(MessageRecord, found, alerts=tuple(_titles([message_id]).get(message_id, ())))


def _titles(message_ids: Sequence[int]) -> dict[int, list[str]]:
    found: dict[int, list[str]] = {}
    query: Any = AlertTold.select(AlertTold, Alert).join(Alert).where(AlertTold.message << list(message_ids))
    for one in query.order_by(Alert.id):
        found.setdefault(one.message_id, []).append(one.alert.title)
    return found


def try_again(message_id: int) -> MessageRecord:
    """Let a message that failed be tried again at the next run."""
    with writing():
        found = row(AlertMessage, message_id, "message")
        if found.state not in ("failed", "waiting"):
            raise Conflict(f"That message is {found.state}: there is nothing to try again.", reason="not_failed")
        changes = {"state": "waiting", "attempts": 0, "next_try": clock.now(), "finished": None}
        AlertMessage.update(**changes).where(AlertMessage.id == message_id).execute()
        return message(message_id)


def last_written(channel: str) -> datetime | None:
    """Return when the newest message of a channel was made."""
    newest: Any = (
        AlertMessage.select().where(AlertMessage.channel == channel).order_by(AlertMessage.id.desc()).first()
    )
    return None if newest is None else newest.made


def forget_old_messages() -> int:
    """Drop messages older than half a year that are done with, but those about alerts that last; return how many."""
    old = (
        "SELECT m.id FROM alert_messages m WHERE m.made < ? AND m.state NOT IN ('waiting', 'sending')"
        " AND m.id NOT IN (SELECT t.message_id FROM alerts_told t JOIN alerts a ON a.id = t.alert_id"
        " WHERE a.gone IS NULL)"
    )
    last = to_micros(clock.now() - KEEP)
    with writing():
        run(f"DELETE FROM alerts_told WHERE message_id IN ({old})", last)
        return int(run(f"DELETE FROM alert_messages WHERE id IN ({old})", last).rowcount)
