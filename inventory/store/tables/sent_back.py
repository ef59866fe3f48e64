"""What went back to its supplier, why, and what came of it."""

from __future__ import annotations

from peewee import BigIntegerField, CharField, Check, ForeignKeyField, IntegerField, TextField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Supplier
from inventory.store.tables.people import Person
from inventory.store.tables.stock import Lot


class SentBack(Table):
    """Some of a lot that went back to its supplier, by an entry of the ledger; undone when that is undone."""

    entry = BigIntegerField(unique=True)
    lot = ForeignKeyField(Lot, backref="sent_back")
    supplier = ForeignKeyField(Supplier, backref="sent_back")
    quantity = IntegerField(constraints=[Check("quantity > 0")])
    cause = CharField(max_length=20)
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    expected_minor = IntegerField(null=True, constraints=[Check("expected_minor >= 0")])  # money asked for
    reference = CharField(max_length=80, default="")  # what the supplier calls it
    note = TextField(default="")
    settled = UtcField(null=True)  # when the supplier answered; empty: not yet
    settled_by = ForeignKeyField(Person, null=True)
    got_minor = IntegerField(null=True, constraints=[Check("got_minor >= 0")])  # money that came
    outcome = CharField(max_length=300, default="")
    version = IntegerField(default=1)

    class Meta:
        table_name = "sent_back"
        indexes = ((("supplier", "settled"), False),)  # what is expected back of one
