"""What the owner should act on, who has seen it, and what went out about it."""

from __future__ import annotations

from peewee import BooleanField, CharField, Check, CompositeKey, ForeignKeyField, IntegerField, TextField

from inventory.store.fields import DayField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.people import Person


class Alert(Table):
    """One thing to act on. It stays when it is over, so that coming back is told from going on."""

    key = CharField(max_length=80, unique=True)  # what it is about, always written alike: late:7
    kind = CharField(max_length=20)
    title = CharField(max_length=300)
    detail = TextField(default="")
    what = CharField(max_length=20)  # the thing whose page to open
    what_id = IntegerField()
    urgent = BooleanField(default=False)
    raised = UtcField()
    changed = UtcField()
    telling = IntegerField(default=1)  # counts up when it comes back, and when a time it was put off for ends
    gone = UtcField(null=True)
    done = UtcField(null=True)
    done_by = ForeignKeyField(Person, null=True)
    postponed_until = DayField(null=True)
    version = IntegerField(default=1)

    class Meta:
        table_name = "alerts"
        indexes = ((("gone", "raised"), False),)


class AlertMessage(Table):
    """What went out, or is to go out, on one channel."""

    code = CharField(max_length=40, unique=True)  # by which the receiver knows a repetition
    channel = CharField(max_length=10)  # mail, webhook
    state = CharField(max_length=10)  # waiting, sending, sent, failed, dropped
    body = TextField()
    made = UtcField()
    attempts = IntegerField(default=0)
    next_try = UtcField()
    finished = UtcField(null=True)
    error = CharField(max_length=500, default="")

    class Meta:
        table_name = "alert_messages"
        indexes = ((("state", "next_try"), False),)


class AlertDelivery(Table):
    """An alert was put into a message: once for each telling and channel, which is what keeps it from going twice."""

    alert = ForeignKeyField(Alert, backref="told")
    telling = IntegerField(constraints=[Check("telling > 0")])
    channel = CharField(max_length=10)
    message = ForeignKeyField(AlertMessage, backref="told")

    class Meta:
        table_name = "alerts_told"
        primary_key = CompositeKey("alert", "telling", "channel")
