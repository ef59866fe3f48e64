"""Bins, lots, pieces, balances, and the ledger."""

from __future__ import annotations

from typing import Any

from peewee import (
    BigIntegerField,
    BooleanField,
    CharField,
    Check,
    CompositeKey,
    ForeignKeyField,
    IntegerField,
    TextField,
)

from inventory.store.fields import DayField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job
from inventory.store.tables.orders import OrderLine
from inventory.store.tables.parts import Part, Supplier
from inventory.store.tables.people import Person


class Bin(Table):
    """A place with a label."""

    code = CharField(max_length=12, unique=True)
    name = CharField(max_length=60, null=True, unique=True)  # empty until the label is put to use
    part = ForeignKeyField(Part, null=True, backref="bins")
    mixed = BooleanField(default=False)  # holds several parts
    walk = IntegerField(default=0)  # order of a count walk
    note = TextField(default="")
    retired = BooleanField(default=False)
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "bins"


class Lot(Table):
    """What arrived together from one origin."""

    code = CharField(max_length=12, unique=True)
    part = ForeignKeyField(Part, backref="lots")
    origin = CharField(max_length=12)  # delivery, donor, left over, found
    origin_note = CharField(max_length=300, default="")
    supplier = ForeignKeyField(Supplier, null=True, backref="lots")
    order_line = ForeignKeyField(OrderLine, null=True, backref="lots")
    job_id = IntegerField(null=True)  # donor or left-over job
    donor_worked = BooleanField(null=True)  # the donor unit worked; empty: not a donor, or nobody noted it
    received = UtcField()
    quantity = IntegerField()  # as received
    cost_minor = BigIntegerField(null=True)  # of all of it
    maker_lot = CharField(max_length=80, default="")
    date_code = CharField(max_length=20, default="")
    best_before = DayField(null=True)
    opened = DayField(null=True)
    open_until = DayField(null=True)  # the last good day once opened; the sooner of this and best_before counts
    raw_code = TextField(default="")
    note = TextField(default="")
    on_hold = BooleanField(default=False)
    version = IntegerField(default=1)

    class Meta:
        table_name = "lots"
        indexes = ((("part", "received"), False), (("maker_lot",), False))

    @property
    def until(self) -> Any:
        """Return the last good day: best before, or the end of its life after opening if that is sooner."""
        return min((day for day in (self.best_before, self.open_until) if day is not None), default=None)


class Hold(Table):
    """A time in which nobody may pull from a lot."""

    lot = ForeignKeyField(Lot, backref="holds")
    reason = CharField(max_length=300)
    person = ForeignKeyField(Person, null=True)
    at = UtcField()
    ended = UtcField(null=True)
    ended_by = ForeignKeyField(Person, null=True)
    outcome = CharField(max_length=300, default="")
    condemned = BooleanField(default=False)  # ended by scrapping the rest: what comes back stays on hold

    class Meta:
        table_name = "holds"


# one open hold a lot
Hold.add_index(Hold.lot, unique=True, where=Hold.ended.is_null(), name="holds_one_open")


class Piece(Table):
    """One individually known unit."""

    code = CharField(max_length=12, unique=True)
    part = ForeignKeyField(Part, backref="pieces")
    lot = ForeignKeyField(Lot, backref="pieces")
    bin = ForeignKeyField(Bin, null=True, backref="pieces")  # empty: fitted or scrapped
    serial = CharField(max_length=80, default="")
    name = CharField(max_length=40, default="")  # what the bench calls it, such as C-07
    spare = BooleanField(default=False)  # kept to test with, not to fit
    matings = IntegerField(default=0)
    note = TextField(default="")
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "pieces"
        indexes = ((("bin", "part"), False),)


class Balance(Table):
    """How many loose units of a lot are in a bin; changed only together with the ledger."""

    bin = ForeignKeyField(Bin, backref="balances")
    lot = ForeignKeyField(Lot, backref="balances")
    part = ForeignKeyField(Part)
    quantity = IntegerField(constraints=[Check("quantity >= 0")])

    class Meta:
        table_name = "balances"
        primary_key = CompositeKey("bin", "lot")
        # which lots can a pull take from; what is on the shelf of a part
        indexes = ((("part", "bin", "lot", "quantity"), False), (("lot", "bin", "quantity"), False))


class Movement(Table):
    """One line of the ledger. Never changed, never deleted: the database refuses both."""

    id = BigIntegerField(primary_key=True)
    entry = BigIntegerField(index=True)  # the first line of what was done together
    at = UtcField()
    kind = CharField(max_length=12)
    part = ForeignKeyField(Part, backref="movements", index=False)
    lot = ForeignKeyField(Lot, backref="movements", index=False)
    bin = ForeignKeyField(Bin, backref="movements", index=False)
    piece = ForeignKeyField(Piece, null=True, backref="movements")
    quantity = IntegerField()
    job = ForeignKeyField(Job, null=True, backref="movements", index=False)
    person = ForeignKeyField(Person, null=True, index=False)
    reason = CharField(max_length=300, default="")
    one_off = BooleanField(default=False)  # not to be expected again
    reverses = ForeignKeyField("self", null=True, unique=True, backref="reversed_by")
    digest = CharField(max_length=64)

    class Meta:
        table_name = "movements"
        indexes = (
            (("lot", "job", "kind", "quantity"), False),  # which jobs got pieces of a lot
            (("job", "lot", "kind", "quantity"), False),  # which lots a job used
            (("part", "at", "job", "kind", "quantity"), False),  # use of a part over time
            (("bin", "id"), False),  # what happened at a bin
        )


class LedgerHead(Table):
    """The end of the digest chain; locked while lines are added, so that the chain has one order."""

    last = BigIntegerField()
    digest = CharField(max_length=64)

    class Meta:
        table_name = "ledger_head"
