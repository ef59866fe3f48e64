"""Writes the next numbered step: what must change in a database so that it matches the tables.

For contributors: ``make step NAME=add_colour``. Read what it wrote before you commit it: a diff knows columns,
not meanings, and triggers are not in it (see ``guards``).
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playhouse.migrations import Runner, template
from playhouse.schema_diff import diff_models

from inventory.store import binding, schema
from inventory.store.tables import all_tables


def difference() -> object:
    """Return what a database built by the steps alone lacks, compared with the tables (falsy: nothing)."""
    return diff_models(binding.database.obj, all_tables())


def main(name: str) -> None:
    """Build a database by the steps so far and write a step for what is missing."""
    with tempfile.TemporaryDirectory() as folder:
        binding.bind(f"sqlite:///{Path(folder) / 'steps.db'}")
        binding.ready()
        schema.bring_up()
        found = difference()
        if not found:
            print("The steps build what the tables say: nothing to write.")
            return
        runner = Runner(binding.database.obj, directory=str(schema.STEPS))
        print("Wrote", runner.create(name, body=template(found)))
        binding.database.close()


if __name__ == "__main__":
    main(sys.argv[1])
