"""Walks the whole ledger: is the chain unbroken, and do the balances add up to it?"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from inventory.store.connection import is_sqlite, run
from inventory.store.ledger import START, line_digest
from inventory.store.ledger_triggers import guard_names

_COLUMNS = (
    "id, entry, at, kind, part_id, lot_id, bin_id, piece_id, quantity, job_id, person_id, reason, one_off,"
    " reverses_id, digest"
)
_PAGE = 10_000


@dataclass
class Findings:
    """What a walk found. ``faults`` is empty when all is well; ``digest`` stands for the whole ledger."""

    lines: int = 0
    digest: str = START
    faults: list[str] = field(default_factory=list)
    loose: Counter[tuple[int, int]] = field(default_factory=Counter)  # by bin and lot
    pieces: dict[int, tuple[int, int, int | None]] = field(default_factory=dict)  # part, lot and bin
    lots: dict[int, int] = field(default_factory=dict)  # whose part
    received: Counter[int] = field(default_factory=Counter)  # by lot, undone or not

    @property
    def sound(self) -> bool:
        """Tell whether nothing was found wrong."""
        return not self.faults


def verify_ledger(expect: str | None = None) -> Findings:
    """Walk the chain, re-add every balance and piece's place, and compare them and the lots with what is stored.

    *expect* is a digest noted earlier (from a backup, say); it must occur in the chain, which shows that no
    end of the ledger was cut off since. The first 20 faults are described, one sentence each.
    """
    found = Findings()
    seen_expected = expect in (None, START)
    for row in _rows():
        seen_expected |= _walk(found, row) == expect
    _compare_head(found)
    _compare_balances(found)
    _compare_pieces(found)
    _compare_lots(found)
    _look_for_guards(found)
    if not seen_expected:
        found.faults.append(f"The digest {expect} is not in the chain: lines it covered are gone or changed.")
    del found.faults[20:]
    return found


def _rows() -> Any:
    last = 0
    while page := run(f"SELECT {_COLUMNS} FROM movements WHERE id > ? ORDER BY id LIMIT {_PAGE}", last).fetchall():
        yield from page
        last = page[-1][0]


def _walk(found: Findings, row: tuple[Any, ...]) -> str:
    *values, digest = row
    number, _, _, kind, part, lot, bin_, piece, quantity = values[:9]
    values[12] = bool(values[12])
    if number != found.lines + 1:
        found.faults.append(f"Line {found.lines + 1} is missing: the next line kept is {number}.")
    if line_digest(found.digest, values) != digest:
        found.faults.append(f"Line {number} does not match its digest: it or a line before it was changed.")
    found.lines, found.digest = number, digest
    if piece is None:
        found.loose[bin_, lot] += quantity
    else:
        found.pieces[piece] = part, lot, bin_ if quantity > 0 else None
    found.lots[lot] = part
    if kind == "receive":
        found.received[lot] += quantity
    return str(digest)


def _compare_head(found: Findings) -> None:
    head = run("SELECT last, digest FROM ledger_head WHERE id = 1").fetchone()
    if head is None:
        found.faults.append("Where the ledger ends is not noted: nothing can be added to it.")
    elif (head[0], head[1]) != (found.lines, found.digest):
        found.faults.append(f"The ledger should end at line {head[0]}, but ends at line {found.lines}.")


def _compare_balances(found: Findings) -> None:
    kept = {(b, lot): (q, part) for b, lot, q, part in run(_BALANCES).fetchall()}
    for key in sorted(kept.keys() | found.loose.keys()):
        quantity, part = kept.get(key, (0, None))
        if quantity != found.loose[key]:
            found.faults.append(
                f"Bin {key[0]}, lot {key[1]}: the balance says {quantity}, the ledger adds up to {found.loose[key]}."
            )
        if part is not None and part != found.lots.get(key[1], part):
            found.faults.append(
                f"Bin {key[0]}, lot {key[1]}: the balance is of part {part}, the ledger says {found.lots[key[1]]}."
            )


_BALANCES = "SELECT bin_id, lot_id, quantity, part_id FROM balances"


def _compare_pieces(found: Findings) -> None:
    kept = {one: (part, lot, place) for one, part, lot, place in run(_PIECES).fetchall()}
    for piece in sorted(kept.keys() | found.pieces.keys()):
        if piece not in kept:
            found.faults.append(f"Piece {piece} is in the ledger, and gone from the list of pieces.")
            continue
        part, lot, place = kept[piece]
        said = found.pieces.get(piece, (part, lot, None))
        if place != said[2]:
            found.faults.append(f"Piece {piece} is noted in bin {place}, the ledger puts it in {said[2]}.")
        if (part, lot) != said[:2]:
            found.faults.append(
                f"Piece {piece} is noted as of part {part} and lot {lot}, the ledger says {said[0]} and {said[1]}."
            )


_PIECES = "SELECT id, part_id, lot_id, bin_id FROM pieces"


def _compare_lots(found: Findings) -> None:
    kept = {lot: (part, quantity) for lot, part, quantity in run("SELECT id, part_id, quantity FROM lots").fetchall()}
    for lot in sorted(kept.keys() | found.lots.keys()):
        if lot not in kept or lot not in found.lots:
            where = "list of lots" if lot in found.lots else "ledger"
            found.faults.append(f"Lot {lot} is gone from the {where}.")
            continue
        part, quantity = kept[lot]
        if part != found.lots[lot]:
            found.faults.append(f"Lot {lot} is noted as of part {part}, the ledger says {found.lots[lot]}.")
        if quantity != found.received[lot]:
            found.faults.append(
                f"Lot {lot}: {quantity} are noted as received, the ledger adds up to {found.received[lot]}."
            )


def _look_for_guards(found: Findings) -> None:
    """Look whether the database still refuses to change the ledger."""
    there = {str(name) for (name,) in run(_GUARDS_SQLITE if is_sqlite() else _GUARDS_POSTGRES).fetchall()}
    found.faults += [
        f"The guard {name} is off: the ledger could be changed." for name in sorted(guard_names() - there)
    ]


_GUARDS_SQLITE = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'movements'"
_GUARDS_POSTGRES = (
    "SELECT tgname FROM pg_trigger WHERE tgrelid = 'movements'::regclass AND NOT tgisinternal AND tgenabled <> 'D'"
)
