"""What can be stocked, what it fits, who sells it."""

from __future__ import annotations

from peewee import (
    BigIntegerField,
    BooleanField,
    CharField,
    Check,
    CompositeKey,
    DoubleField,
    ForeignKeyField,
    IntegerField,
    TextField,
)

from inventory.store.fields import JsonField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.people import Person


class UnitModel(Table):
    """A model of device that customers bring."""

    name = CharField(max_length=120, unique=True)
    maker = CharField(max_length=120, default="")
    note = TextField(default="")

    class Meta:
        table_name = "unit_models"


class Supplier(Table):
    """Who parts are bought from."""

    name = CharField(max_length=120, unique=True)
    lead_days = IntegerField(default=5)  # stated by the supplier
    shipping_minor = BigIntegerField(default=0)  # for one parcel
    email = CharField(max_length=200, default="")
    note = TextField(default="")
    active = BooleanField(default=True)
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "suppliers"


class Part(Table):
    """A kind of thing that can be stocked."""

    number = CharField(max_length=60, unique=True)  # the shop's own
    name = CharField(max_length=400)
    kind = CharField(max_length=12)
    kept = CharField(max_length=12)  # counted, individually, by level
    unit = CharField(max_length=10)  # base unit: piece, g, ml, mm
    maker = CharField(max_length=120, default="")
    maker_number = CharField(max_length=120, default="")
    attributes = JsonField()  # of the kind: pitch, ways, volts ...
    hazards = JsonField()  # keys of shared.hazards
    caution = TextField(default="")
    note = TextField(default="")
    level = IntegerField(null=True)  # fixed by the owner; empty: worked out
    target = DoubleField(null=True)  # share of its promise; empty: the shop's
    promise = CharField(max_length=12, null=True)  # no_stock_out, next_job; empty: the shop's
    rated_matings = IntegerField(null=True)  # by the data sheet
    catalogued = UtcField()
    catalogued_for_id = IntegerField(null=True)  # the job that caused it
    retired = BooleanField(default=False)
    search = TextField()  # folded text that the search field looks in
    version = IntegerField(default=1)

    class Meta:
        table_name = "parts"
        indexes = ((("maker_number",), False), (("kind", "number"), False))


class PartFit(Table):
    """A part goes into a unit model."""

    part = ForeignKeyField(Part, backref="fits")
    unit_model = ForeignKeyField(UnitModel, backref="fits")

    class Meta:
        table_name = "part_fits"
        primary_key = CompositeKey("part", "unit_model")


class Substitute(Table):
    """What may be used instead, and how it differs."""

    part = ForeignKeyField(Part, backref="substitutes")
    instead = ForeignKeyField(Part, backref="stands_in_for")
    differs = CharField(max_length=300, default="")

    class Meta:
        table_name = "substitutes"
        primary_key = CompositeKey("part", "instead")


class Offer(Table):
    """What a supplier sells a part for."""

    part = ForeignKeyField(Part, backref="offers")
    supplier = ForeignKeyField(Supplier, backref="offers")
    supplier_number = CharField(max_length=120, default="")
    pack = IntegerField(default=1, constraints=[Check("pack > 0")])  # base units in a pack
    minimum = IntegerField(default=1)  # base units in an order
    price_minor = BigIntegerField()  # for one pack
    breaks = JsonField()  # [[packs, price of a pack], ...] rising
    lead_days = IntegerField(null=True)  # empty: the supplier's
    preferred = BooleanField(default=False)
    active = BooleanField(default=True)
    version = IntegerField(default=1)

    class Meta:
        table_name = "offers"
        indexes = ((("part", "supplier", "supplier_number"), True), (("supplier_number",), False))


class Lesson(Table):
    """A sentence worth seeing again."""

    text = TextField()
    part = ForeignKeyField(Part, null=True, backref="lessons")
    unit_model = ForeignKeyField(UnitModel, null=True, backref="lessons")
    job_id = IntegerField(null=True)
    person = ForeignKeyField(Person, null=True)
    at = UtcField()

    class Meta:
        table_name = "lessons"
