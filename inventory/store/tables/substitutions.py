"""What was fitted instead of what was asked for: the ledger says which part left, this says for which."""

from __future__ import annotations

from peewee import BigIntegerField, CharField, Check, ForeignKeyField, IntegerField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job
from inventory.store.tables.parts import Part
from inventory.store.tables.people import Person


class StandIn(Table):
    """One pull of a part for a job that had asked for another one. It counts while its entry is not undone."""

    entry = BigIntegerField(unique=True)  # of the ledger
    part = ForeignKeyField(Part, backref="stood_in_for")  # that was asked for
    instead = ForeignKeyField(Part, backref="stood_in")  # that was taken
    job = ForeignKeyField(Job, backref="stand_ins")
    quantity = IntegerField(constraints=[Check("quantity > 0")])
    differed = CharField(max_length=300, default="")  # how, as it was shown to who took it
    at = UtcField()
    person = ForeignKeyField(Person, null=True)

    class Meta:
        table_name = "stand_ins"
        indexes = ((("job", "instead"), False),)  # what a put back was taken for
