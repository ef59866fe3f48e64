"""What customers were told of their repair, and what they answered."""

from __future__ import annotations

from peewee import BigIntegerField, BooleanField, CharField, Check, ForeignKeyField, IntegerField, TextField

from inventory.store.fields import DayField, JsonField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job
from inventory.store.tables.people import Person


class Notice(Table):
    """One notice as it went out; a later one of the same job stands in its place."""

    job = ForeignKeyField(Job, backref="notices")
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    found = TextField()  # what was found, in words
    lines = JsonField()  # what it needs: {"words", "price_minor"} each; the price may be unknown
    work_minor = BigIntegerField(default=0, constraints=[Check("work_minor >= 0")])
    total_minor = BigIntegerField()
    ready = DayField(null=True)  # when it will be ready, if the customer agrees
    unsafe = BooleanField(default=False)  # not to be used as it is
    text = TextField()  # word for word as it went out
    answer = CharField(max_length=10, default="")  # empty: none yet; agreed, declined
    answered = UtcField(null=True)
    answered_by = ForeignKeyField(Person, null=True)
    remark = CharField(max_length=300, default="")  # what the customer said
    version = IntegerField(default=1)

    class Meta:
        table_name = "notices"
