"""Checks of lots that come in: what the owner wants tested, what was tested, and what came of it."""

from __future__ import annotations

from peewee import BigIntegerField, BooleanField, CharField, Check, DoubleField, ForeignKeyField, IntegerField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Part, Supplier
from inventory.store.tables.people import Person
from inventory.store.tables.proof import Procedure, Proof
from inventory.store.tables.stock import Hold, Lot, Piece


class IncomingPlan(Table):
    """How much of each delivery is tested, of a part or of a supplier; the part's own goes before."""

    part = ForeignKeyField(Part, null=True, unique=True)
    supplier = ForeignKeyField(Supplier, null=True, unique=True)
    test = IntegerField(null=True, constraints=[Check("test >= 0")])  # so many; 0: none, whatever the supplier's
    sure = DoubleField(null=True)  # or a question: how sure ...
    most_bad = DoubleField(null=True)  # ... that at most this share is bad
    accept = IntegerField(default=0, constraints=[Check("accept >= 0")])  # bad ones of the sample
    hold = BooleanField(default=True)  # nobody takes from the lot until it is checked
    version = IntegerField(default=1)

    class Meta:
        table_name = "incoming_plans"
        constraints = [Check("(part_id IS NULL) <> (supplier_id IS NULL)")]


class IncomingCheck(Table):
    """A lot that is to be tested, or was."""

    lot = ForeignKeyField(Lot, backref="incoming_checks")
    opened = UtcField()
    opened_by = ForeignKeyField(Person, null=True)
    pieces = IntegerField(constraints=[Check("pieces > 0")])  # of the lot that were here to be drawn from
    tests = IntegerField(constraints=[Check("tests > 0")])
    accept = IntegerField(constraints=[Check("accept >= 0")])
    sure = DoubleField(null=True)  # of the plan's question
    most_bad = DoubleField(null=True)
    every = BooleanField(default=False)  # all that is left is sorted, after the lot was rejected
    hold = ForeignKeyField(Hold, null=True)  # that waits for this check
    closed = UtcField(null=True)
    closed_by = ForeignKeyField(Person, null=True)
    outcome = CharField(max_length=10, default="")  # accepted, rejected, called off
    overridden = BooleanField(default=False)  # the owner decided otherwise, or before it was certain
    reason = CharField(max_length=300, default="")

    class Meta:
        table_name = "incoming_checks"
        indexes = ((("closed", "id"), False),)


# one open check a lot
IncomingCheck.add_index(
    IncomingCheck.lot, unique=True, where=IncomingCheck.closed.is_null(), name="incoming_checks_one_open"
)


class IncomingTest(Table):
    """One that was tested for a check. One struck was logged by mistake: kept, and not counted."""

    incoming = ForeignKeyField(IncomingCheck, backref="done")
    number = IntegerField(constraints=[Check("number > 0")])  # its place in the sample
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    good = BooleanField()
    fate = CharField(max_length=10)  # back, scrapped, labelled
    procedure = ForeignKeyField(Procedure, null=True)  # empty: good or bad, as the tester saw it
    piece = ForeignKeyField(Piece, null=True)  # if it has a label of its own
    proof = ForeignKeyField(Proof, null=True)
    entry = BigIntegerField(null=True)  # of the ledger, when it was scrapped or singled out
    note = CharField(max_length=300, default="")
    struck = UtcField(null=True)
    struck_by = ForeignKeyField(Person, null=True)
    struck_reason = CharField(max_length=300, default="")

    class Meta:
        table_name = "incoming_tests"
        indexes = ((("entry",), False),)


# one result a place
IncomingTest.add_index(
    IncomingTest.incoming, IncomingTest.number, unique=True, where=IncomingTest.struck.is_null(),
    name="incoming_tests_one_a_place",
)  # fmt: skip


class IncomingReading(Table):
    """One reading of a test of something that has no label of its own; pieces keep theirs with the proof."""

    test = ForeignKeyField(IncomingTest, backref="readings")
    position = IntegerField()
    name = CharField(max_length=120)
    unit = CharField(max_length=20, default="")
    value = CharField(max_length=30)  # decimal text, or yes / no
    low = CharField(max_length=30, default="")
    high = CharField(max_length=30, default="")
    passed = BooleanField()

    class Meta:
        table_name = "incoming_readings"
