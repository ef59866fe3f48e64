"""Database triggers that refuse any change to the ledger."""

from __future__ import annotations

from typing import Any

import peewee

from inventory.store.connection import is_sqlite

REFUSAL_MESSAGE = "the ledger is append-only: reverse the movement instead"

_SQLITE_TRIGGERS = tuple(
    f"CREATE TRIGGER movements_no_{verb.lower()} BEFORE {verb} ON movements "
    f"BEGIN SELECT RAISE(ABORT, '{REFUSAL_MESSAGE}'); END"
    for verb in ("UPDATE", "DELETE")
)

_POSTGRES_TRIGGERS = (
    "CREATE FUNCTION refuse_ledger_change() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{REFUSAL_MESSAGE}'; END $$",
    "CREATE TRIGGER movements_no_change BEFORE UPDATE OR DELETE ON movements "
    "FOR EACH ROW EXECUTE FUNCTION refuse_ledger_change()",
    "CREATE TRIGGER movements_no_truncate BEFORE TRUNCATE ON movements "
    "FOR EACH STATEMENT EXECUTE FUNCTION refuse_ledger_change()",
)


def trigger_names() -> set[str]:
    """Return the names of the triggers that protect the ledger of the bound database."""
    statements = [
        statement
        for statement in (_SQLITE_TRIGGERS if is_sqlite() else _POSTGRES_TRIGGERS)
        if statement.startswith("CREATE TRIGGER")
    ]
    return {statement.split()[2] for statement in statements}


def create_triggers(db: Any) -> None:
    """Create the triggers on *db* and start the digest chain."""
    for statement in _SQLITE_TRIGGERS if isinstance(db, peewee.SqliteDatabase) else _POSTGRES_TRIGGERS:
        db.execute_sql(statement)
    db.execute_sql(f"INSERT INTO ledger_head (id, last, digest) VALUES (1, 0, '{'0' * 64}')")
