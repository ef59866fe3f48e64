"""Keeps what customers were told of their repair, and what they answered."""

from __future__ import annotations

from typing import Any

from peewee import BigIntegerField, BooleanField, CharField, Check, ForeignKeyField, IntegerField, Model, TextField

from inventory.store.fields import DayField, JsonField, UtcField


def up(migrator: Any, db: Any) -> None:
    """Make the table."""

    class Job(Model):
        class Meta:
            database = db
            table_name = "jobs"

    class Person(Model):
        class Meta:
            database = db
            table_name = "people"

    class Notice(Model):
        job = ForeignKeyField(Job)
        at = UtcField()
        person = ForeignKeyField(Person, null=True)
        found = TextField()
        lines = JsonField()
        work_minor = BigIntegerField(default=0, constraints=[Check("work_minor >= 0")])
        total_minor = BigIntegerField()
        ready = DayField(null=True)
        unsafe = BooleanField(default=False)
        text = TextField()
        answer = CharField(max_length=10, default="")
        answered = UtcField(null=True)
        answered_by = ForeignKeyField(Person, null=True)
        remark = CharField(max_length=300, default="")
        version = IntegerField(default=1)

        class Meta:
            database = db
            table_name = "notices"

    db.create_tables([Notice])


def down(migrator: Any, db: Any) -> None:
    """Drop the table."""
    migrator.migrate(migrator.drop_table("notices"))
