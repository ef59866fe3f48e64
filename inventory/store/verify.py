"""Walks the whole ledger: is the chain unbroken, and do the balances add up to it?"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from inventory.store.binding import run
from inventory.store.ledger import START, line_digest

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
    loose: Counter[tuple[int, int]] = field(default_factory=Counter)
    pieces: dict[int, int | None] = field(default_factory=dict)

    @property
    def sound(self) -> bool:
        """Tell whether nothing was found wrong."""
        return not self.faults


def verify_ledger(expect: str | None = None) -> Findings:
    """Walk the chain, re-add every balance and piece's place, and compare them with what is stored.

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
    number, _, _, _, _, lot, bin_, piece, quantity = values[:9]
    values[12] = bool(values[12])
    if number != found.lines + 1:
        found.faults.append(f"Line {found.lines + 1} is missing: the next line kept is {number}.")
    if line_digest(found.digest, values) != digest:
        found.faults.append(f"Line {number} does not match its digest: it or a line before it was changed.")
    found.lines, found.digest = number, digest
    if piece is None:
        found.loose[bin_, lot] += quantity
    else:
        found.pieces[piece] = bin_ if quantity > 0 else None
    return str(digest)


def _compare_head(found: Findings) -> None:
    last, digest = run("SELECT last, digest FROM ledger_head WHERE id = 1").fetchone()
    if (last, digest) != (found.lines, found.digest):
        found.faults.append(f"The ledger should end at line {last}, but ends at line {found.lines}.")


def _compare_balances(found: Findings) -> None:
    kept = {(b, lot): q for b, lot, q in run("SELECT bin_id, lot_id, quantity FROM balances").fetchall()}
    for key in sorted(kept.keys() | found.loose.keys()):
        if kept.get(key, 0) != found.loose[key]:
            found.faults.append(
                f"Bin {key[0]}, lot {key[1]}: the balance says {kept.get(key, 0)}, "
                f"the ledger adds up to {found.loose[key]}."
            )


def _compare_pieces(found: Findings) -> None:
    for piece, place in run("SELECT id, bin_id FROM pieces").fetchall():
        if found.pieces.get(piece) != place:
            found.faults.append(
                f"Piece {piece} is noted in bin {place}, the ledger puts it in {found.pieces.get(piece)}."
            )
