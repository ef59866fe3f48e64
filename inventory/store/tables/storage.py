"""What time does to parts and lots: life after opening, moisture, open bags, bakes; and levels that are read."""

from __future__ import annotations

from peewee import CharField, Check, DoubleField, ForeignKeyField, IntegerField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Part
from inventory.store.tables.people import Person
from inventory.store.tables.stock import Bin, Lot, Movement


class PartKeeping(Table):
    """How a part keeps: how long once opened, how moisture-sensitive; how its level is read."""

    part = ForeignKeyField(Part, unique=True, backref="keeping")
    days_opened = IntegerField(null=True, constraints=[Check("days_opened > 0")])
    moisture_level = CharField(max_length=2, default="")  # of IPC/JEDEC J-STD-020; empty: not sensitive
    label_hours = DoubleField(null=True)  # floor life on the label, where it differs from the level's
    read_by = CharField(max_length=10, default="")  # percent, weight, length; empty: in its unit
    full = IntegerField(null=True)  # base units in a full container
    tare = DoubleField(null=True)  # grams of the empty container
    per_gram = DoubleField(null=True)  # base units in a gram

    class Meta:
        table_name = "part_keeping"


class BagOpening(Table):
    """A time in which a lot's moisture barrier bag was open; closing it is dry storage."""

    lot = ForeignKeyField(Lot, backref="bag_openings")
    opened = UtcField()
    person = ForeignKeyField(Person, null=True)
    closed = UtcField(null=True)
    closed_by = ForeignKeyField(Person, null=True)

    class Meta:
        table_name = "bag_openings"


class Bake(Table):
    """A lot was baked dry: its floor life begins anew."""

    lot = ForeignKeyField(Lot, backref="bakes")
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    note = CharField(max_length=300, default="")

    class Meta:
        table_name = "bakes"


class LevelReading(Table):
    """What remained of a lot when somebody read its level."""

    lot = ForeignKeyField(Lot, backref="readings")
    bin = ForeignKeyField(Bin)
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    read_by = CharField(max_length=10)
    value = CharField(max_length=30)  # as it was read: per cent, grams with the container, or an amount
    before = IntegerField()  # base units booked before
    amount = IntegerField(constraints=[Check("amount >= 0")])  # base units that remained
    movement = ForeignKeyField(Movement, null=True)  # the line that booked it

    class Meta:
        table_name = "level_readings"
        indexes = ((("lot", "at"), False),)
