"""Bins, lots, pieces, balances, and the ledger."""

from __future__ import annotations

from typing import Any

from peewee import (
    BigAutoField,
    BigIntegerField,
    BooleanField,
    CharField,
    Check,
    CompositeKey,
    ForeignKeyField,
    IntegerField,
    TextField,
)

from inventory.reckoning.stock.shelf_life import last_good_day
from inventory.store.fields import DayField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job
from inventory.store.tables.orders import OrderLine
from inventory.store.tables.parts import Part, Supplier
from inventory.store.tables.people import Person
from shared.codes import name_or_code


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

    @property
    def shown_as(self) -> str:
        """Return what people call this bin."""
        return name_or_code(self.name, self.code)


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
        return last_good_day(self.best_before, self.open_until)


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

    @property
    def is_released(self) -> bool:
        """Tell whether people may pull from the lot again: it ended, and not by scrapping the rest."""
        return self.ended is not None and not self.condemned

    @classmethod
    def current_of(cls, lot_id: int) -> Any:
        """Return the hold that keeps a lot from being pulled from, the one that is not released, or None."""
        return cls.get_or_none(cls.lot == lot_id, cls.ended.is_null() | cls.condemned)


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

    @property
    def shown_as(self) -> str:
        """Return what people call this piece."""
        return name_or_code(self.name, self.code)


class Balance(Table):
    """How many loose units of a lot are in a bin; changed only together with the ledger."""

    bin = ForeignKeyField(Bin, backref="balances", index=False)
    lot = ForeignKeyField(Lot, backref="balances", index=False)
    part = ForeignKeyField(Part, index=False)
    quantity = IntegerField(constraints=[Check("quantity >= 0")])

    class Meta:
        table_name = "balances"
        primary_key = CompositeKey("bin", "lot")
        # which lots can a pull take from; where a lot is. Without the quantity, so that a pull changes no index
        indexes = ((("part", "bin", "lot"), False), (("lot", "bin"), False))


class Movement(Table):
    """One line of the ledger. Never changed, never deleted: the database refuses both."""

    id = BigAutoField()  # numbered by the ledger itself; on SQLite the row's own number, so it costs no index
    entry = BigIntegerField()  # the first line of what was done together; ``ledger.of_entry`` finds all
    at = UtcField()
    kind = CharField(max_length=12)
    part = ForeignKeyField(Part, backref="movements", index=False)
    lot = ForeignKeyField(Lot, backref="movements", index=False)
    bin = ForeignKeyField(Bin, backref="movements", index=False)
    piece = ForeignKeyField(Piece, null=True, backref="movements", index=False)
    quantity = IntegerField()
    job = ForeignKeyField(Job, null=True, backref="movements", index=False)
    person = ForeignKeyField(Person, null=True, index=False)
    reason = CharField(max_length=300, default="")
    one_off = BooleanField(default=False)  # not to be expected again
    reverses = ForeignKeyField("self", null=True, backref="reversed_by", index=False)
    digest = CharField(max_length=64)

    class Meta:
        table_name = "movements"
        indexes = (
            (("lot", "job", "kind", "quantity"), False),  # which jobs got pieces of a lot
            (("job", "lot", "kind", "quantity"), False),  # which lots a job used
            (("part", "at", "job", "kind", "quantity"), False),  # use of a part over time
            (("bin", "id"), False),  # what happened at a bin
        )


# few lines are about a piece or undo another: an index of those alone costs the others nothing
Movement.add_index(Movement.piece, where=Movement.piece.is_null(False), name="movements_of_a_piece")
# a line is undone once
Movement.add_index(
    Movement.reverses, unique=True, where=Movement.reverses.is_null(False), name="movements_undone_once"
)


class LedgerHead(Table):
    """The end of the digest chain; locked while lines are added, so that the chain has one order."""

    last = BigIntegerField()
    digest = CharField(max_length=64)

    class Meta:
        table_name = "ledger_head"
