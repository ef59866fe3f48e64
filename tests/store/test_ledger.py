"""The ledger: append-only, chained, and always adding up."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import peewee
import pytest

from inventory.domain.common.errors import Conflict
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.store import ledger_triggers, verify
from inventory.store.connection import database, execute, is_sqlite, transaction
from tests.factories import a_bin, a_job, a_part, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")


@pytest.mark.parametrize(
    "sql", ["UPDATE movements SET quantity = 99", "DELETE FROM movements", "UPDATE movements SET reason = 'x'"]
)
def test_the_database_refuses_to_change_it(sql: str) -> None:
    a_stocked_part()
    with pytest.raises(peewee.PeeweeException, match="append-only"), transaction():
        execute(sql)
    assert verify.verify_ledger().sound


def test_the_database_refuses_a_balance_below_zero() -> None:
    a_stocked_part(1)
    with pytest.raises(peewee.IntegrityError), transaction():
        execute("UPDATE balances SET quantity = -1")


def test_a_changed_line_shows_even_when_the_guard_was_taken_off() -> None:
    a_stocked_part(5)
    a_stocked_part(6)
    _without_guard("UPDATE movements SET quantity = 50 WHERE id = 1")
    faults = verify.verify_ledger().faults
    assert faults[0].startswith("Line 1 does not match its digest")
    assert any("the ledger adds up to 50" in fault for fault in faults)


def test_a_lost_line_shows() -> None:
    for _ in range(3):
        a_stocked_part()
    _without_guard("DELETE FROM movements WHERE id = 2")
    assert verify.verify_ledger().faults[0].startswith("Line 2 is missing")


def test_a_cut_off_end_shows_against_a_digest_noted_before() -> None:
    a_stocked_part()
    before = verify.verify_ledger()
    part, _, _ = a_stocked_part()
    noted = verify.verify_ledger().digest
    _without_guard("DELETE FROM movements WHERE id = 2")
    with transaction():
        execute("UPDATE ledger_head SET last = 1, digest = ?", before.digest)
        execute("DELETE FROM balances WHERE part_id = ?", part.id)
        execute("DELETE FROM lots WHERE part_id = ?", part.id)
    assert verify.verify_ledger().sound
    assert not verify.verify_ledger(expected_digest=noted).sound


def test_everything_undone_leaves_what_was_there_before() -> None:
    part, bin_, received = a_stocked_part(5)
    other = a_bin(part)
    job = a_job()
    lot = received.lot_ids[0]
    result = [
        pull.pull(2, bin_id=bin_.id, job_id=job.id),
        adjustments.move(other.id, 1, bin_id=bin_.id, lot_id=lot),
        adjustments.single_out(bin_.id, lot, name="C-01"),
        adjustments.scrap(1, bin_id=bin_.id, lot_id=lot, reason="bent pins"),
    ]
    for act in reversed(result):
        undo.undo(act.entry)
    assert execute("SELECT SUM(quantity) FROM balances WHERE bin_id = ?", bin_.id).fetchone()[0] == 5
    assert verify.verify_ledger().sound


def test_an_undo_is_done_once_and_not_undone() -> None:
    _, bin_, _ = a_stocked_part()
    result = pull.pull(bin_id=bin_.id, job_id=a_job().id)
    undone = undo.undo(result.entry)
    with pytest.raises(Conflict, match="undone already"):
        undo.undo(result.entry)
    with pytest.raises(Conflict, match="an undo itself"):
        undo.undo(undone.entry)


def test_a_receipt_that_has_been_used_is_not_undone() -> None:
    _, bin_, received = a_stocked_part(2)
    pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    with pytest.raises(Conflict, match="moved on since"):
        undo.undo(received.entry)
    assert verify.verify_ledger().sound


def test_individual_parts_become_pieces_with_a_place_each() -> None:
    part = a_part("60 mm fan", "fan", kept="individually")
    receipt = receive.receive(part.id, 3, a_bin(part).id)
    assert len(receipt.made_pieces) == 3
    pull.pull_piece(receipt.piece_ids[0], job_id=a_job().id)
    with pytest.raises(Conflict, match="fitted in job"):
        pull.pull_piece(receipt.piece_ids[0], job_id=a_job().id)
    assert verify.verify_ledger().sound


@pytest.mark.parametrize(
    ("sql", "fault"),
    [
        ("UPDATE balances SET part_id = 2 WHERE lot_id = 1", "the balance is of part 2, the ledger says 1"),
        ("UPDATE lots SET part_id = 2 WHERE id = 1", "Lot 1 is noted as of part 2, the ledger says 1"),
        ("UPDATE lots SET quantity = 50 WHERE id = 1", "50 are noted as received, the ledger adds up to 5"),
        ("UPDATE pieces SET bin_id = 1", "Piece 1 is noted in bin 1, the ledger puts it in 2"),
        ("UPDATE pieces SET part_id = 1", "Piece 1 is noted as of part 1 and lot 2, the ledger says 2 and 2"),
        ("UPDATE pieces SET lot_id = 1", "Piece 1 is noted as of part 2 and lot 1, the ledger says 2 and 2"),
        ("UPDATE ledger_head SET last = 1", "The ledger should end at line 1, but ends at line 2"),
        ("DELETE FROM ledger_head", "Where the ledger ends is not noted"),
    ],
)
def test_what_was_changed_behind_its_back_shows(sql: str, fault: str) -> None:
    a_stocked_part(5)
    fans = a_part("60 mm fan", "fan", kept="individually")
    receive.receive(fans.id, 1, a_bin(fans).id)
    assert verify.verify_ledger().sound
    with transaction():
        execute(sql)
    assert fault in " ".join(verify.verify_ledger().faults)


def test_a_piece_or_a_lot_that_vanished_shows() -> None:
    fans = a_part("60 mm fan", "fan", kept="individually")
    receive.receive(fans.id, 1, a_bin(fans).id)
    with transaction(), _no_references_kept():
        execute("DELETE FROM pieces")
        execute("DELETE FROM lots")
    assert verify.verify_ledger().faults == [
        "Piece 1 is in the ledger, and gone from the list of pieces.", "Lot 1 is gone from the list of lots.",
    ]  # fmt: skip


def test_a_guard_that_was_taken_off_shows() -> None:
    a_stocked_part(5)
    assert verify.verify_ledger().sound
    _take_guard_off()
    assert "is off: the ledger could be changed." in verify.verify_ledger().faults[0]
    _put_guard_on_again()
    assert verify.verify_ledger().sound


@contextmanager
def _no_references_kept() -> Iterator[None]:
    """Let the block break references, as somebody with the database file can."""
    if is_sqlite():
        database.execute_sql("PRAGMA defer_foreign_keys = 1")
        yield
        database.execute_sql("PRAGMA defer_foreign_keys = 0")
        return
    database.execute_sql("SET session_replication_role = replica")
    yield
    database.execute_sql("SET session_replication_role = DEFAULT")


def _without_guard(sql: str) -> None:
    """Do to the ledger what somebody with the database file and bad intent could do, and cover it up."""
    _take_guard_off()
    with transaction():
        execute(sql)
    _put_guard_on_again()


def _take_guard_off() -> None:
    if is_sqlite():
        for verb in ("update", "delete"):
            database.execute_sql(f"DROP TRIGGER movements_no_{verb}")
    else:
        database.execute_sql("ALTER TABLE movements DISABLE TRIGGER USER")


def _put_guard_on_again() -> None:
    if is_sqlite():
        for statement in ledger_triggers._SQLITE_TRIGGERS:
            database.execute_sql(statement)
    else:
        database.execute_sql("ALTER TABLE movements ENABLE TRIGGER USER")
