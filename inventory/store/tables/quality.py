"""What is checked and kept about lots: incoming checks, returns to suppliers, recalls, certificates and photos."""

from __future__ import annotations

from peewee import (
    BigIntegerField,
    BooleanField,
    CharField,
    Check,
    DoubleField,
    ForeignKeyField,
    IntegerField,
    TextField,
)

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job
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


class RecallCompletion(Table):
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
