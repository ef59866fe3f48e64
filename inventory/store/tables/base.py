"""The base of every table, and facts about the database as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import peewee
from peewee import CharField, TextField

from inventory.store.connection import database
from inventory.store.queries import add, by_values, change


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
        wanted = None if filters else _equal_to(cls, query)
        if not wanted:
            return super().get(*query, **filters)
        found = by_values(cls, wanted)
        if found is None:
            raise cls.DoesNotExist  # type: ignore[attr-defined]  # peewee makes one for each table
        return found

    @classmethod
    def get_or_create(cls, **values: Any) -> tuple[Any, bool]:
        """Return the row that has these values, adding it with ``defaults`` if there is none; and whether it was."""
        defaults = values.pop("defaults", {})
        wanted = [getattr(cls, name) == value for name, value in values.items()]
        found = cls.get_or_none(*wanted)
        if found is not None:
            return found, False
        try:
            with database.atomic():
                return cls.create(**{**values, **defaults}), True
        except peewee.IntegrityError:  # somebody else has just added it
            found = cls.get_or_none(*wanted)
            if found is None:
                raise
            return found, False

    @classmethod
    def create(cls, **values: Any) -> Any:
        """Add a row, where ids are counted up without building a query anew."""
        made = cls(**values)
        if not cls._meta.auto_increment or made.id is not None:
            made.save(force_insert=True)
            return made
        made.id = add(cls, made.__data__)
        made._dirty.clear()
        return made

    def save(self, force_insert: bool = False, only: Any = None) -> int:
        """Keep the row as it is now; a known one without building a query anew."""
        if force_insert or only is not None or not self._meta.auto_increment or self.id is None:
            return int(super().save(force_insert=force_insert, only=only))
        self._dirty.clear()
        return change(type(self), self.id, {name: value for name, value in self.__data__.items() if name != "id"})


def _equal_to(table: Any, query: tuple[Any, ...]) -> dict[str, Any] | None:
    """Return the values that a query asks for, if all it says is that columns of *table* are equal to them."""
    found: dict[str, Any] = {}
    for one in query:
        own = isinstance(one, peewee.Expression) and one.op == peewee.OP.EQ and isinstance(one.lhs, peewee.Field)
        if not own or one.lhs.model is not table or type(one.rhs) not in (int, str):
            return None
        found[one.lhs.name] = one.rhs
    return found


class SchemaNote(Table):
    """A fact about this database as a whole, by name."""

    name = CharField(max_length=60, unique=True)
    value = TextField()

    class Meta:
        table_name = "notes"
