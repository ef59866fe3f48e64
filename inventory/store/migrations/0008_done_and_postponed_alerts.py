"""Names what was done with an alert in the words of the pages and the API: done, postponed."""

from __future__ import annotations

from typing import Any

RENAMED = (("acknowledged", "done"), ("acknowledged_by_id", "done_by_id"), ("snoozed_until", "postponed_until"))


def up(migrator: Any, db: Any) -> None:
    """Rename the columns, and the index that is called after one of them."""
    migrator.migrate(
        migrator.drop_index("alerts", "alerts_acknowledged_by_id"),
        *(migrator.rename_column("alerts", former, name) for former, name in RENAMED),
        migrator.add_index("alerts", ("done_by_id",)),
    )


def down(migrator: Any, db: Any) -> None:
    """Give them their former names."""
    migrator.migrate(
        migrator.drop_index("alerts", "alerts_done_by_id"),
        *(migrator.rename_column("alerts", name, former) for former, name in RENAMED),
        migrator.add_index("alerts", ("acknowledged_by_id",)),
    )
