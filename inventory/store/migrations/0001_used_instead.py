"""Keeps what was fitted instead of what was asked for."""

from __future__ import annotations

from typing import Any

from peewee import BigIntegerField, CharField, Check, ForeignKeyField, IntegerField, Model

from inventory.store.fields import UtcField


def up(migrator: Any, db: Any) -> None:
    """Make the table."""

    class Job(Model):
        class Meta:
            database = db
            table_name = "jobs"

    class Part(Model):
        class Meta:
            database = db
            table_name = "parts"

    class Person(Model):
        class Meta:
            database = db
            table_name = "people"

    class StandIn(Model):
        entry = BigIntegerField(unique=True)
        part = ForeignKeyField(Part, backref="stood_in_for")
        instead = ForeignKeyField(Part, backref="stood_in")
        job = ForeignKeyField(Job)
        quantity = IntegerField(constraints=[Check("quantity > 0")])
        differed = CharField(max_length=300, default="")
        at = UtcField()
        person = ForeignKeyField(Person, null=True)

        class Meta:
            database = db
            table_name = "stand_ins"
            indexes = ((("job", "instead"), False),)

    db.create_tables([StandIn])


def down(migrator: Any, db: Any) -> None:
    """Drop the table."""
    migrator.migrate(migrator.drop_table("stand_ins"))
