"""The schema: migrations build what the tables say, apply once, and leave the guards standing."""

from __future__ import annotations

from pathlib import Path

import peewee
import pytest

from inventory.store import connection, schema
from inventory.store.connection import execute, transaction
from inventory.store.new_migration import build_from_first_migration, schema_difference
from tests.factories import a_job, a_person, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")


def test_a_new_database_is_exactly_what_the_tables_say() -> None:
    differences = schema_difference()
    assert not differences, str(differences)
    assert schema.pending_migrations() == []


def test_it_is_brought_up_once() -> None:
    a_stocked_part()
    assert schema.migrate() == []
    assert execute("SELECT COUNT(*) FROM movements").fetchone()[0] == 1


def test_the_steps_lead_from_the_first_tables_to_what_the_tables_say(tmp_path: Path) -> None:
    """For PostgreSQL the same migrations run through the same peewee; only the SQLite start is kept as a file."""
    before = connection.database.obj
    build_from_first_migration(tmp_path / "first.db")
    differences = schema_difference()
    connection.database.close()
    connection.database.initialize(before)
    assert not differences, str(differences)


def test_a_piece_cannot_be_lent_twice_even_behind_the_service_s_back() -> None:
    _, bin_, receipt = a_stocked_part()
    from inventory.domain.movements import adjustments

    piece = adjustments.single_out(bin_.id, receipt.lot_ids[0]).piece_ids[0]
    lend = (
        "INSERT INTO loans (piece_id, job_id, bin_id, p_good, standing, taken, due, result, stayed, note)"
        " VALUES (?, ?, ?, 0.9, 'proved', 1, 2, '', ?, '')"
    )
    job, stayed = a_job(), False
    with transaction():
        execute(lend, piece, job.id, bin_.id, stayed)
    with pytest.raises(peewee.IntegrityError), transaction():
        execute(lend, piece, job.id, bin_.id, stayed)


def test_a_name_to_sign_in_with_is_one_person_s() -> None:
    a_person(name="ines")
    with pytest.raises(peewee.IntegrityError), transaction():
        execute(
            "INSERT INTO people (name, shown_as, role, passphrase, active, session_mark, created, version)"
            " VALUES ('ines', 'x', 'tech', '', ?, 0, 1, 1)",
            True,
        )
