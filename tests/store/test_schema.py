"""The schema: steps build what the tables say, apply once, and leave the guards standing."""

from __future__ import annotations

from pathlib import Path

import peewee
import pytest

from inventory.store import connection, schema
from inventory.store.connection import run, writing
from inventory.store.new_migration import difference, walk_from_the_first
from tests.factories import a_job, a_person, stocked

pytestmark = pytest.mark.usefixtures("bench")


def test_a_new_database_is_exactly_what_the_tables_say() -> None:
    found = difference()
    assert not found, str(found)
    assert schema.missing_steps() == []


def test_it_is_brought_up_once() -> None:
    stocked()
    assert schema.bring_up() == []
    assert run("SELECT COUNT(*) FROM movements").fetchone()[0] == 1


def test_the_steps_lead_from_the_first_tables_to_what_the_tables_say(tmp_path: Path) -> None:
    """For PostgreSQL the same steps run through the same peewee; only the SQLite start is kept as a file."""
    before = connection.database.obj
    walk_from_the_first(tmp_path / "first.db")
    found = difference()
    connection.database.close()
    connection.database.initialize(before)
    assert not found, str(found)


def test_a_piece_cannot_be_lent_twice_even_behind_the_service_s_back() -> None:
    _, bin_, done = stocked()
    from inventory.domain.movements import adjustments

    piece = adjustments.single_out(bin_.id, done.lot_ids[0]).piece_ids[0]
    lend = (
        "INSERT INTO loans (piece_id, job_id, bin_id, p_good, standing, taken, due, result, stayed, note)"
        " VALUES (?, ?, ?, 0.9, 'proved', 1, 2, '', ?, '')"
    )
    job, stayed = a_job(), False
    with writing():
        run(lend, piece, job.id, bin_.id, stayed)
    with pytest.raises(peewee.IntegrityError), writing():
        run(lend, piece, job.id, bin_.id, stayed)


def test_a_name_to_sign_in_with_is_one_person_s() -> None:
    a_person(name="ines")
    with pytest.raises(peewee.IntegrityError), writing():
        run(
            "INSERT INTO people (name, shown_as, role, passphrase, active, session_mark, created, version)"
            " VALUES ('ines', 'x', 'tech', '', ?, 0, 1, 1)",
            True,
        )
