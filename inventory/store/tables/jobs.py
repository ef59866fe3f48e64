"""Jobs, what they need, and what might be wrong in them."""

from __future__ import annotations

from peewee import BooleanField, CharField, Check, DoubleField, ForeignKeyField, IntegerField, TextField

from inventory.store.fields import DayField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Part, UnitModel


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
