"""What was observed about the suspects of a job, and what it turned out to be."""

from __future__ import annotations

from peewee import BooleanField, CharField, CompositeKey, DoubleField, ForeignKeyField, TextField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job, Suspect
from inventory.store.tables.people import Person
from inventory.store.tables.proof import Loan
from inventory.store.tables.stock import Lot, Piece


class Evidence(Table):
    """One observation about the suspects of a job. The result of a swap test is kept with its loan."""

    job = ForeignKeyField(Job, backref="evidence")
    kind = CharField(max_length=12)  # measured, swapped, new part, repaired, put back
    suspect = ForeignKeyField(Suspect, null=True, backref="evidence")  # empty: a run with several spares
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    says_bad = BooleanField(null=True)  # measured: what it says
    sensitivity = DoubleField(null=True)  # measured: P(says bad | bad)
    specificity = DoubleField(null=True)  # measured: P(says good | good)
    lot = ForeignKeyField(Lot, null=True)  # new part: where it came from
    p_good = DoubleField(null=True)  # new part: believed when it was fitted
    bad_if_good = DoubleField(null=True)  # repaired: P(bad afterwards | good)
    bad_if_bad = DoubleField(null=True)  # repaired: P(bad afterwards | bad)
    works = BooleanField(null=True)  # how the unit then ran; empty: it was not run
    note = TextField(default="")
    struck = UtcField(null=True)  # logged by mistake: kept, and not counted
    struck_by = ForeignKeyField(Person, null=True)
    struck_reason = CharField(max_length=300, default="")

    class Meta:
        table_name = "evidence"
        indexes = ((("job", "at"), False),)


class EvidenceSpare(Table):
    """A spare that was fitted during a run, while it was out to the job."""

    evidence = ForeignKeyField(Evidence, backref="spares")
    loan = ForeignKeyField(Loan)

    class Meta:
        table_name = "evidence_spares"
        primary_key = CompositeKey("evidence", "loan")


class JobClosing(Table):
    """A job was closed. Which suspects it was, their verdicts say; a job opened again is closed by another one."""

    job = ForeignKeyField(Job, backref="closings")
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    something_else = BooleanField(default=False)  # it was something not on the list

    class Meta:
        table_name = "closings"


class PieceOutcome(Table):
    """What a closed job's whole log said of a piece, in place of its single swap results."""

    closing = ForeignKeyField(JobClosing, backref="carried")
    piece = ForeignKeyField(Piece, backref="carried")
    p_before = DoubleField()  # P(good) that the job took it with
    p_after = DoubleField()

    class Meta:
        table_name = "carried_back"
        indexes = ((("closing", "piece"), True),)
