"""Keeps which lists of stock were taken in from a spreadsheet."""

from __future__ import annotations

from typing import Any

from peewee import CharField, ForeignKeyField, Model

from inventory.store.fields import JsonField, UtcField


def up(migrator: Any, db: Any) -> None:
    """Make the table."""

    class Person(Model):
        class Meta:
            database = db
            table_name = "people"

    class StockList(Model):
        at = UtcField()
        person = ForeignKeyField(Person, null=True)
        digest = CharField(max_length=64)
        totals = JsonField()
        bins = JsonField()

        class Meta:
            database = db
            table_name = "stock_lists"
            indexes = ((("digest",), False),)

    db.create_tables([StockList])


def down(migrator: Any, db: Any) -> None:
    """Drop the table."""
    migrator.migrate(migrator.drop_table("stock_lists"))
