"""Keeps the mask of a suspect whose fault comes and goes, and how long a proof took."""

from __future__ import annotations

from typing import Any

from peewee import DoubleField


def up(migrator: Any, db: Any) -> None:
    """Add the columns."""
    migrator.migrate(migrator.add_column("suspects", "mask", DoubleField(null=True)))
    migrator.migrate(migrator.add_column("proofs", "minutes", DoubleField(null=True)))


def down(migrator: Any, db: Any) -> None:
    """Drop them again."""
    migrator.migrate(migrator.drop_column("proofs", "minutes"))
    migrator.migrate(migrator.drop_column("suspects", "mask"))
