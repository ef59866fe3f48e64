"""What was asked of suppliers, and which part a number on one of their bags means."""

from __future__ import annotations

from peewee import BigIntegerField, BooleanField, CharField, Check, ForeignKeyField, IntegerField, TextField

from inventory.store.fields import DayField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Offer, Part, Supplier
from inventory.store.tables.people import Person


class Order(Table):
    """What was asked of a supplier."""

    code = CharField(max_length=12, unique=True)
    number = CharField(max_length=30, unique=True)
    supplier = ForeignKeyField(Supplier, backref="orders")
    status = CharField(max_length=10)  # draft, placed, received, cancelled
    reference = CharField(max_length=80, default="")
    note = TextField(default="")
    shipping_minor = BigIntegerField(default=0)
    created = UtcField()
    placed = UtcField(null=True)
    expected = DayField(null=True)
    closed = UtcField(null=True)
    person = ForeignKeyField(Person, null=True)
    version = IntegerField(default=1)

    class Meta:
        table_name = "orders"
        indexes = ((("status", "placed"), False),)


class OrderLine(Table):
    """One part of an order."""

    order = ForeignKeyField(Order, backref="lines")
    part = ForeignKeyField(Part, backref="order_lines")
    offer = ForeignKeyField(Offer, null=True)
    quantity = IntegerField(constraints=[Check("quantity > 0")])
    received = IntegerField(default=0)
    cost_minor = BigIntegerField(default=0)  # of the whole line
    job_id = IntegerField(null=True)  # ordered for this job
    dropped = BooleanField(default=False)

    class Meta:
        table_name = "order_lines"
        indexes = ((("part", "order"), False),)


class BagPairing(Table):
    """A number that suppliers print on bags means this part: said once, by somebody who had the bag in hand."""

    number = CharField(max_length=120, unique=True)  # upper case, single spaces
    part = ForeignKeyField(Part, backref="pairings")
    supplier = ForeignKeyField(Supplier, null=True)  # who delivered that bag
    person = ForeignKeyField(Person, null=True)
    at = UtcField()

    class Meta:
        table_name = "pairings"
