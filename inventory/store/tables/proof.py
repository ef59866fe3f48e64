"""Procedures, proofs with their readings, and pieces that are out."""

from __future__ import annotations

from peewee import BooleanField, CharField, DoubleField, ForeignKeyField, IntegerField, TextField

from inventory.store.fields import JsonField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.jobs import Job, Suspect
from inventory.store.tables.parts import Part
from inventory.store.tables.people import Person
from inventory.store.tables.stock import Bin, Piece


class Procedure(Table):
    """A named way to test a piece."""

    name = CharField(max_length=120)
    edition = IntegerField(default=1)
    kind = CharField(max_length=12, default="")  # for parts of this kind; empty: any
    part = ForeignKeyField(Part, null=True)
    steps = TextField(default="")  # what to do, in sentences
    hazards = JsonField()
    source = CharField(max_length=300, default="")
    sensitivity = DoubleField(default=0.9)  # P(fails | bad)
    specificity = DoubleField(default=0.98)  # P(passes | good)
    retired = BooleanField(default=False)
    created = UtcField()

    class Meta:
        table_name = "procedures"
        indexes = ((("name", "edition"), True),)


class ProcedureCheck(Table):
    """One reading of a procedure with its limits; without limits it is answered yes or no."""

    procedure = ForeignKeyField(Procedure, backref="checks")
    position = IntegerField()
    name = CharField(max_length=120)
    unit = CharField(max_length=20, default="")
    low = CharField(max_length=30, default="")  # decimal text: limits are exact
    high = CharField(max_length=30, default="")
    times_rated = CharField(max_length=30, default="")  # limits are shares of this attribute of the part

    class Meta:
        table_name = "procedure_checks"
        indexes = ((("procedure", "position"), True),)


class Proof(Table):
    """A dated test of a piece, or "it ran in this job's unit"."""

    piece = ForeignKeyField(Piece, backref="proofs")
    procedure = ForeignKeyField(Procedure, null=True, backref="proofs")  # empty: it ran in a unit
    job = ForeignKeyField(Job, null=True, backref="proofs")
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    passed = BooleanField()
    sensitivity = DoubleField()
    specificity = DoubleField()
    instrument = CharField(max_length=120, default="")
    minutes = DoubleField(null=True)  # that it took, where it was timed
    note = TextField(default="")
    struck = UtcField(null=True)  # logged by mistake: kept, and not counted from then on
    struck_by = ForeignKeyField(Person, null=True)
    struck_reason = CharField(max_length=300, default="")

    class Meta:
        table_name = "proofs"
        indexes = ((("piece", "at"), False),)


class ProofReading(Table):
    """One reading of a proof, with the limits it was held against."""

    proof = ForeignKeyField(Proof, backref="readings")
    position = IntegerField()
    name = CharField(max_length=120)
    unit = CharField(max_length=20, default="")
    value = CharField(max_length=30)  # decimal text, or yes / no
    low = CharField(max_length=30, default="")
    high = CharField(max_length=30, default="")
    passed = BooleanField()

    class Meta:
        table_name = "readings"


class Loan(Table):
    """A piece that is out: lent to a job for a swap test."""

    piece = ForeignKeyField(Piece, backref="loans")
    job = ForeignKeyField(Job, backref="loans")
    suspect = ForeignKeyField(Suspect, null=True, backref="loans")
    bin = ForeignKeyField(Bin)  # where it was taken from
    p_good = DoubleField()  # believed when it was taken
    standing = CharField(max_length=10)
    taken = UtcField()
    taken_by = ForeignKeyField(Person, null=True)
    due = UtcField()
    ended = UtcField(null=True)
    ended_by = ForeignKeyField(Person, null=True)
    result = CharField(max_length=20, default="")  # works with it, still fails, cannot tell; or cancelled
    stayed = BooleanField(default=False)  # it stayed fitted
    others_good = DoubleField(null=True)  # believed when it ended: chance that all else in the unit was good
    proof = ForeignKeyField(Proof, null=True, backref="loans")  # "it ran in this job's unit", from this loan
    note = TextField(default="")

    class Meta:
        table_name = "loans"


# a piece is with one job at a time
Loan.add_index(Loan.piece, unique=True, where=Loan.ended.is_null(), name="loans_one_open")
