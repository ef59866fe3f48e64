"""What was learned from bags: which part a number on a bag means."""

from __future__ import annotations

from peewee import CharField, ForeignKeyField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Part, Supplier
from inventory.store.tables.people import Person


class Pairing(Table):
    """A number that suppliers print on bags means this part: said once, by somebody who had the bag in hand."""

    number = CharField(max_length=120, unique=True)  # upper case, single spaces
    part = ForeignKeyField(Part, backref="pairings")
    supplier = ForeignKeyField(Supplier, null=True)  # who delivered that bag
    person = ForeignKeyField(Person, null=True)
    at = UtcField()

    class Meta:
        table_name = "pairings"
