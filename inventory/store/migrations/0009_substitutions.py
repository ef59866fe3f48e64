"""Calls the table of what was fitted instead of something by the one word for it: substitutions."""

from __future__ import annotations

from typing import Any

INDEXES = (("entry",), ("part_id",), ("instead_id",), ("job_id",), ("person_id",), ("job_id", "instead_id"))


def _rename(migrator: Any, db: Any, former: str, former_indexes: tuple[str, ...], name: str) -> None:
    """Rename the table, and its indexes: a migrated table's are called otherwise than a new one's."""
    for prefix in former_indexes:
        for columns in INDEXES:
            db.execute_sql(f"DROP INDEX IF EXISTS {prefix}_{'_'.join(columns)}")
    migrator.migrate(
        migrator.rename_table(former, name),
        *(migrator.add_index(name, columns, columns == ("entry",)) for columns in INDEXES),
    )


def up(migrator: Any, db: Any) -> None:
    """Give the table its name."""
    _rename(migrator, db, "stand_ins", ("standin", "stand_ins"), "substitutions")


def down(migrator: Any, db: Any) -> None:
    """Give it its former name."""
    _rename(migrator, db, "substitutions", ("substitutions",), "stand_ins")
