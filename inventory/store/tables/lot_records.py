"""What is kept about lots beside the ledger: papers and photos, and how far a recall has been worked through."""

from __future__ import annotations

from peewee import CharField, ForeignKeyField, IntegerField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job
from inventory.store.tables.people import Person
from inventory.store.tables.stock import Hold, Lot


class RecallTick(Table):
    """A job that was seen to while its lot was on hold."""

    hold = ForeignKeyField(Hold, backref="ticks")
    job = ForeignKeyField(Job)
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    note = CharField(max_length=300, default="")

    class Meta:
        table_name = "recall_ticks"
        indexes = ((("hold", "job"), True),)


class Attachment(Table):
    """A certificate or photo of a lot. The bytes are a file of the data folder, under a random name."""

    lot = ForeignKeyField(Lot, backref="attachments")
    kind = CharField(max_length=12)  # certificate, photo
    name = CharField(max_length=120)  # as it was called where it came from; shown, never used as a path
    media = CharField(max_length=40)  # found out from the bytes
    size = IntegerField()
    digest = CharField(max_length=64)  # SHA-256 of the bytes
    file = CharField(max_length=64, unique=True)
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    removed = UtcField(null=True)
    removed_by = ForeignKeyField(Person, null=True)

    class Meta:
        table_name = "attachments"
