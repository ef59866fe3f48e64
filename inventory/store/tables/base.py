"""The base of every table, and facts about the database as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import peewee
from peewee import CharField, TextField

from inventory.store.binding import database


class Table(peewee.Model):
    """Base of every table."""

    if TYPE_CHECKING:  # peewee adds these at run time: the key, and ``<name>_id`` of each reference
        id: Any

        def __getattr__(self, name: str) -> Any: ...

    class Meta:
        database = database
        legacy_table_names = False


class SchemaNote(Table):
    """A fact about this database as a whole, by name."""

    name = CharField(max_length=60, unique=True)
    value = TextField()

    class Meta:
        table_name = "notes"
