"""Keeps plans for checks of lots that come in, the checks, and what was tested for them."""

from __future__ import annotations

from typing import Any

from peewee import (
    BigIntegerField,
    BooleanField,
    CharField,
    Check,
    DoubleField,
    ForeignKeyField,
    IntegerField,
    Model,
)

from inventory.store.fields import UtcField


def up(migrator: Any, db: Any) -> None:
    """Make the tables."""
    part, supplier, person = (_known(db, name) for name in ("parts", "suppliers", "people"))
    lot, hold, piece = (_known(db, name) for name in ("lots", "holds", "pieces"))
    procedure, proof = (_known(db, name) for name in ("procedures", "proofs"))

    class Base(Model):
        class Meta:
            database = db

    class IncomingPlan(Base):
        part_id = ForeignKeyField(part, null=True, unique=True)
        supplier_id = ForeignKeyField(supplier, null=True, unique=True)
        test = IntegerField(null=True, constraints=[Check("test >= 0")])
        sure = DoubleField(null=True)
        most_bad = DoubleField(null=True)
        accept = IntegerField(default=0, constraints=[Check("accept >= 0")])
        hold = BooleanField(default=True)
        version = IntegerField(default=1)

        class Meta:
            table_name = "incoming_plans"
            constraints = [Check("(part_id IS NULL) <> (supplier_id IS NULL)")]

    class IncomingCheck(Base):
        lot_id = ForeignKeyField(lot)
        opened = UtcField()
        opened_by_id = ForeignKeyField(person, null=True)
        pieces = IntegerField(constraints=[Check("pieces > 0")])
        tests = IntegerField(constraints=[Check("tests > 0")])
        accept = IntegerField(constraints=[Check("accept >= 0")])
        sure = DoubleField(null=True)
        most_bad = DoubleField(null=True)
        every = BooleanField(default=False)
        hold_id = ForeignKeyField(hold, null=True)
        closed = UtcField(null=True)
        closed_by_id = ForeignKeyField(person, null=True)
        outcome = CharField(max_length=10, default="")
        overridden = BooleanField(default=False)
        reason = CharField(max_length=300, default="")

        class Meta:
            table_name = "incoming_checks"
            indexes = ((("closed", "id"), False),)

    IncomingCheck.add_index(
        IncomingCheck.lot_id, unique=True, where=IncomingCheck.closed.is_null(), name="incoming_checks_one_open"
    )

    class IncomingTest(Base):
        incoming_id = ForeignKeyField(IncomingCheck)
        number = IntegerField(constraints=[Check("number > 0")])
        at = UtcField()
        person_id = ForeignKeyField(person, null=True)
        good = BooleanField()
        fate = CharField(max_length=10)
        procedure_id = ForeignKeyField(procedure, null=True)
        piece_id = ForeignKeyField(piece, null=True)
        proof_id = ForeignKeyField(proof, null=True)
        entry = BigIntegerField(null=True)
        note = CharField(max_length=300, default="")
        struck = UtcField(null=True)
        struck_by_id = ForeignKeyField(person, null=True)
        struck_reason = CharField(max_length=300, default="")

        class Meta:
            table_name = "incoming_tests"
            indexes = ((("entry",), False),)

    IncomingTest.add_index(
        IncomingTest.incoming_id, IncomingTest.number, unique=True, where=IncomingTest.struck.is_null(),
        name="incoming_tests_one_a_place",
    )  # fmt: skip

    class IncomingReading(Base):
        test_id = ForeignKeyField(IncomingTest)
        position = IntegerField()
        name = CharField(max_length=120)
        unit = CharField(max_length=20, default="")
        value = CharField(max_length=30)
        low = CharField(max_length=30, default="")
        high = CharField(max_length=30, default="")
        passed = BooleanField()

        class Meta:
            table_name = "incoming_readings"

    db.create_tables([IncomingPlan, IncomingCheck, IncomingTest, IncomingReading])


def _known(db: Any, table: str) -> Any:
    """Return a table that is there already, to be referred to."""
    meta = type("Meta", (), {"database": db, "table_name": table})
    return type(table.title(), (Model,), {"Meta": meta})


def down(migrator: Any, db: Any) -> None:
    """Drop them again."""
    for name in ("incoming_readings", "incoming_tests", "incoming_checks", "incoming_plans"):
        migrator.migrate(migrator.drop_table(name))
