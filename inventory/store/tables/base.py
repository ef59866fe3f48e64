"""The base of every table, and facts about the database as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import peewee
from peewee import CharField, TextField

from inventory.store.connection import database
from inventory.store.queries import find_by_values, insert_row, update_row


class Table(peewee.Model):
    """Base of every table."""

    if TYPE_CHECKING:  # peewee adds these at run time: the key, and ``<name>_id`` of each reference
        id: Any

        def __getattr__(self, name: str) -> Any: ...

    class Meta:
        database = database
        legacy_table_names = False

    @classmethod
    def get(cls, *query: Any, **filters: Any) -> Any:
        """Read one row; by plain values (so every reference that is followed), without building a query anew."""
        values = None if filters else _equality_values(cls, query)
        if not values:
            return super().get(*query, **filters)
        row = find_by_values(cls, values)
        if row is None:
            raise cls.DoesNotExist  # type: ignore[attr-defined]  # peewee makes one for each table
        return row

    @classmethod
    def get_or_create(cls, **values: Any) -> tuple[Any, bool]:
        """Return the row that has these values, adding it with ``defaults`` if there is none; and whether it was."""
        defaults = values.pop("defaults", {})
        conditions = [getattr(cls, name) == value for name, value in values.items()]
        row = cls.get_or_none(*conditions)
        if row is not None:
            return row, False
        try:
            with database.atomic():
                return cls.create(**{**values, **defaults}), True
        except peewee.IntegrityError:  # somebody else has just added it
            row = cls.get_or_none(*conditions)
            if row is None:
                raise
            return row, False

    @classmethod
    def create(cls, **values: Any) -> Any:
        """Add a row, where ids are counted up without building a query anew."""
        row = cls(**values)
        if not cls._meta.auto_increment or row.id is not None:
            row.save(force_insert=True)
            return row
        row.id = insert_row(cls, row.__data__)
        row._dirty.clear()
        return row

    def save(self, force_insert: bool = False, only: Any = None) -> int:
        """Keep the row as it is now; a known one without building a query anew."""
        if force_insert or only is not None or not self._meta.auto_increment or self.id is None:
            return int(super().save(force_insert=force_insert, only=only))
        self._dirty.clear()
        return update_row(type(self), self.id, {name: value for name, value in self.__data__.items() if name != "id"})


def _equality_values(table: Any, query: tuple[Any, ...]) -> dict[str, Any] | None:
    """Return the values that a query asks for, if all it says is that columns of *table* are equal to them."""
    values: dict[str, Any] = {}
    for condition in query:
        own = (
            isinstance(condition, peewee.Expression)
            and condition.op == peewee.OP.EQ
            and isinstance(condition.lhs, peewee.Field)
        )
        if not own or condition.lhs.model is not table or type(condition.rhs) not in (int, str):
            return None
        values[condition.lhs.name] = condition.rhs
    return values


class KeyValue(Table):
    """A fact about this database as a whole, by name."""

    name = CharField(max_length=60, unique=True)
    value = TextField()

    class Meta:
        table_name = "notes"
