"""The append-only ledger: every stock movement is one line, chained to the line before by a digest.

Balances and the places of pieces change in the same transaction and only here. ``ledger_transaction`` locks the
end of the chain first, so whatever its block reads of the stock stays true until it commits.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from inventory.store.connection import execute, is_sqlite, transaction
from inventory.store.fields import to_micros

GENESIS_DIGEST = "0" * 64

MOVEMENT_KINDS = ("receive", "pull", "put back", "scrap", "move", "count", "single out", "reverse")


class InsufficientStock(Exception):
    """The bin holds less of the lot (or not this piece) than the line takes away."""

    def __init__(self, line: LedgerLine) -> None:
        super().__init__("the stock is not there")
        self.line = line


@dataclass(frozen=True)
class LedgerLine:
    """A movement to be written. ``quantity`` is in base units: positive into the bin, negative out of it."""

    kind: str
    part_id: int
    lot_id: int
    bin_id: int
    quantity: int
    piece_id: int | None = None
    job_id: int | None = None
    person_id: int | None = None
    reason: str = ""
    one_off: bool = False
    reverses_id: int | None = None


@contextmanager
def ledger_transaction() -> Iterator[None]:
    """Run the block as one transaction in which nobody else moves stock."""
    with transaction():
        if not is_sqlite():  # BEGIN IMMEDIATE already keeps other writers out
            execute("SELECT last FROM ledger_head WHERE id = 1 FOR UPDATE")
        yield


def last_line() -> int:
    """Return the number of the last line of the ledger; 0 when it is empty."""
    return int(execute("SELECT last FROM ledger_head WHERE id = 1").fetchone()[0])


def head() -> tuple[int, str]:
    """Return the number and the digest of the last line (0 and zeros before the first).

    Raises LookupError when the database does not say: nothing can be added to its ledger.
    """
    row = execute("SELECT last, digest FROM ledger_head WHERE id = 1").fetchone()
    if row is None:
        raise LookupError("the end of the ledger is not noted")
    return int(row[0]), str(row[1])


def append_lines(lines: Sequence[LedgerLine], moment: datetime) -> int:
    """Write *lines* as one entry at a *moment*; return the entry's number.

    Raises InsufficientStock when the stock for a line is not in its bin; the caller's transaction must then end.
    """
    last, digest = head()
    entry = last + 1
    micros = to_micros(moment)
    for line in lines:
        _apply_line(line)
        last += 1
        values = _row_values(last, entry, micros, line)
        digest = line_digest(digest, values)
        execute(_INSERT_MOVEMENT, *values, digest)
    execute("UPDATE ledger_head SET last = ?, digest = ? WHERE id = 1", last, digest)
    return entry


_INSERT_MOVEMENT = (
    "INSERT INTO movements (id, entry, at, kind, part_id, lot_id, bin_id, piece_id, quantity, job_id,"
    " person_id, reason, one_off, reverses_id, digest) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


def _row_values(number: int, entry: int, micros: int, line: LedgerLine) -> tuple[object, ...]:
    return (
        *(number, entry, micros, line.kind, line.part_id, line.lot_id, line.bin_id, line.piece_id),
        *(line.quantity, line.job_id, line.person_id, line.reason, line.one_off, line.reverses_id),
    )


def line_range(entry: int) -> tuple[int, int]:
    """Return the lowest and the highest number that a line of *entry* may have: its lines are consecutive."""
    after = execute(
        "SELECT id FROM movements WHERE id > ? AND entry <> ? ORDER BY id LIMIT 1", entry, entry
    ).fetchone()
    return entry, after[0] - 1 if after else 2**62


def line_digest(before: str, values: Sequence[object]) -> str:
    """Return the SHA-256 (hex) that chains a line's *values* to the digest *before* it."""
    return hashlib.sha256(_to_json([before, *values]).encode()).hexdigest()


_to_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def _apply_line(line: LedgerLine) -> None:
    """Change the balance or the place of the piece that *line* is about."""
    if line.piece_id is not None:
        _place_piece(line)
    elif line.quantity < 0:
        _decrease_balance(line)
    else:
        _increase_balance(line)


def _decrease_balance(line: LedgerLine) -> None:
    done = execute(
        "UPDATE balances SET quantity = quantity - ? WHERE bin_id = ? AND lot_id = ? AND quantity >= ?",
        *(-line.quantity, line.bin_id, line.lot_id, -line.quantity),
    )
    if done.rowcount != 1:
        raise InsufficientStock(line)


def _increase_balance(line: LedgerLine) -> None:
    execute(
        "INSERT INTO balances (bin_id, lot_id, part_id, quantity) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (bin_id, lot_id) DO UPDATE SET quantity = balances.quantity + excluded.quantity",
        *(line.bin_id, line.lot_id, line.part_id, line.quantity),
    )


def _place_piece(line: LedgerLine) -> None:
    if line.quantity == -1:
        done = execute("UPDATE pieces SET bin_id = NULL WHERE id = ? AND bin_id = ?", line.piece_id, line.bin_id)
    else:
        done = execute("UPDATE pieces SET bin_id = ? WHERE id = ? AND bin_id IS NULL", line.bin_id, line.piece_id)
    if done.rowcount != 1:
        raise InsufficientStock(line)
