"""The first tables."""

from inventory.store.guards import put_up
from inventory.store.tables import all_tables


def up(migrator, db):  # type: ignore[no-untyped-def]
    db.create_tables(all_tables())
    put_up(db)
