"""Writes the next numbered migration: what must change in a database so that it matches the tables.

For contributors: ``make migration NAME=add_colour``. Read what it wrote before you commit it: a difference knows
columns, not meanings, and neither checks nor triggers are in it (see ``ledger_triggers``).
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playhouse.migrations import Runner, template
from playhouse.schema_diff import diff_models

from inventory.store import connection, schema
from inventory.store.tables import all_tables


def schema_difference() -> object:
    """Return the difference between the bound database and the tables (falsy: none)."""
    return diff_models(connection.database.obj, all_tables())


def build_from_first_migration(path: Path) -> None:
    """Make a SQLite database at *path* with the first tables, and bring it up by all migrations since."""
    schema.create_at_migration((), path)
    schema.open_database(f"sqlite:///{path}")


def main(name: str) -> None:
    """Walk from the first tables through the migrations so far, and write one for what is missing."""
    with tempfile.TemporaryDirectory() as folder:
        build_from_first_migration(Path(folder) / "migrated.db")
        difference = schema_difference()
        if not difference:
            print("The migrations lead to what the tables say: nothing to write.")
            return
        runner = Runner(connection.database.obj, directory=str(schema.MIGRATIONS_DIR))
        print("Wrote", runner.create(name, body=template(difference)))
        connection.database.close()


if __name__ == "__main__":
    main(sys.argv[1])
