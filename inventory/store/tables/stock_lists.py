"""Lists of stock that were taken in from a spreadsheet."""

from __future__ import annotations

from peewee import CharField, ForeignKeyField

from inventory.store.fields import JsonField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.people import Person


class StockListImport(Table):
    """A list that was taken in, whole."""

    at = UtcField()
    person = ForeignKeyField(Person, null=True)  # empty: at the command line
    digest = CharField(max_length=64)  # SHA-256 of its text: the same list is told from another
    totals = JsonField()  # what it added, counted
    bins = JsonField()  # ids of the bins that it names

    class Meta:
        table_name = "stock_lists"
        indexes = ((("digest",), False),)
