"""Jobs, what they need, what might be wrong in them, what was fitted instead, and what customers were told."""

from __future__ import annotations

from peewee import (
    BigIntegerField,
    BooleanField,
    CharField,
    Check,
    DoubleField,
    ForeignKeyField,
    IntegerField,
    TextField,
)

from inventory.store.fields import DayField, JsonField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Part, UnitModel
from inventory.store.tables.people import Person


class Job(Table):
    """One customer's repair."""

    code = CharField(max_length=12, unique=True)
    number = CharField(max_length=30, unique=True)
    unit_model = ForeignKeyField(UnitModel, null=True, backref="jobs")
    unit_serial = CharField(max_length=80, default="")
    customer = CharField(max_length=120, default="")
    symptom = CharField(max_length=300, default="")
    status = CharField(max_length=10, default="open")  # open, waiting, closed
    waiting_for = CharField(max_length=300, default="")
    opened = UtcField()
    promised = DayField(null=True)
    closed = UtcField(null=True)
    found = TextField(default="")  # what it was
    note = TextField(default="")
    search = TextField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "jobs"
        indexes = ((("status", "opened"), False),)


class Need(Table):
    """What a job wants of a part."""

    job = ForeignKeyField(Job, backref="needs")
    part = ForeignKeyField(Part, backref="needs")
    quantity = IntegerField(constraints=[Check("quantity > 0")])
    taken = IntegerField(default=0)
    dropped = BooleanField(default=False)
    at = UtcField()

    class Meta:
        table_name = "needs"
        indexes = ((("job", "part"), True),)


class Suspect(Table):
    """What might be wrong in a job."""

    job = ForeignKeyField(Job, backref="suspects")
    name = CharField(max_length=120)
    part = ForeignKeyField(Part, null=True)
    verdict = CharField(max_length=10, default="")  # empty, bad, good
    at = UtcField()
    mask = DoubleField(null=True)  # P(unit seen working | this is bad), where its fault comes and goes

    class Meta:
        table_name = "suspects"
        indexes = ((("job", "name"), True),)


class Substitution(Table):
    """One pull of a part for a job that had asked for another one. It counts while its entry is not undone."""

    entry = BigIntegerField(unique=True)  # of the ledger
    part = ForeignKeyField(Part, backref="stood_in_for")  # that was asked for
    instead = ForeignKeyField(Part, backref="stood_in")  # that was taken
    job = ForeignKeyField(Job, backref="substitutions")
    quantity = IntegerField(constraints=[Check("quantity > 0")])
    differed = CharField(max_length=300, default="")  # how, as it was shown to who took it
    at = UtcField()
    person = ForeignKeyField(Person, null=True)

    class Meta:
        table_name = "substitutions"
        indexes = ((("job", "instead"), False),)  # what a put back was taken for


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
