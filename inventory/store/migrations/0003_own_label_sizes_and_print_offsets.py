"""Keeps the sheets and rolls of the shop's own, and how far off its printers print."""

from __future__ import annotations

from typing import Any

from peewee import BooleanField, CharField, Check, DoubleField, ForeignKeyField, IntegerField, Model

from inventory.store.fields import UtcField


def up(migrator: Any, db: Any) -> None:
    """Make both tables."""

    class Person(Model):
        class Meta:
            database = db
            table_name = "people"

    class LabelSize(Model):
        name = CharField(unique=True, max_length=80)
        page_width = DoubleField()
        page_height = DoubleField()
        columns = IntegerField(constraints=[Check("columns > 0")])
        rows = IntegerField(constraints=[Check("rows > 0")])
        label_width = DoubleField()
        label_height = DoubleField()
        left = DoubleField()
        top = DoubleField()
        gap_x = DoubleField()
        gap_y = DoubleField()
        margin = DoubleField()
        dpi = IntegerField()
        active = BooleanField(default=True)
        created = UtcField()
        version = IntegerField(default=1)

        class Meta:
            database = db
            table_name = "label_sizes"

    class PrintOffset(Model):
        size = CharField(max_length=40)
        printer = CharField(max_length=128)
        right = DoubleField()
        down = DoubleField()
        person = ForeignKeyField(Person, null=True)
        at = UtcField()

        class Meta:
            database = db
            table_name = "print_offsets"
            indexes = ((("size", "printer"), True),)

    db.create_tables([LabelSize, PrintOffset])


def down(migrator: Any, db: Any) -> None:
    """Drop them again."""
    migrator.migrate(migrator.drop_table("print_offsets"), migrator.drop_table("label_sizes"))
