"""Verifies the ledger: the digest chain is unbroken and balances add up to its lines."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from inventory.store.connection import execute, is_sqlite
from inventory.store.ledger import GENESIS_DIGEST, head, line_digest
from inventory.store.ledger_triggers import trigger_names

_MOVEMENT_COLUMNS = (
    "id, entry, at, kind, part_id, lot_id, bin_id, piece_id, quantity, job_id, person_id, reason, one_off,"
    " reverses_id, digest"
)
_PAGE_SIZE = 10_000


@dataclass
class LedgerReport:
    """What a walk found. ``faults`` is empty when all is well; ``digest`` stands for the whole ledger."""

    lines: int = 0
    digest: str = GENESIS_DIGEST
    faults: list[str] = field(default_factory=list)
    loose: Counter[tuple[int, int]] = field(default_factory=Counter)  # by bin and lot
    pieces: dict[int, tuple[int, int, int | None]] = field(default_factory=dict)  # part, lot and bin
    lots: dict[int, int] = field(default_factory=dict)  # whose part
    received: Counter[int] = field(default_factory=Counter)  # by lot, undone or not

    @property
    def sound(self) -> bool:
        """Tell whether nothing was found wrong."""
        return not self.faults


def verify_ledger(expected_digest: str | None = None) -> LedgerReport:
    """Walk the chain, re-add every balance and piece's place, and compare them and the lots with what is stored.

    *expected_digest* is a digest noted earlier (from a backup, say); it must occur in the chain, which shows that no
    end of the ledger was cut off since. The first 20 faults are described, one sentence each.
    """
    report = LedgerReport()
    seen_expected = expected_digest in (None, GENESIS_DIGEST)
    for row in _ledger_rows():
        seen_expected |= _check_line(report, row) == expected_digest
    _compare_head(report)
    _compare_balances(report)
    _compare_pieces(report)
    _compare_lots(report)
    _check_triggers(report)
    if not seen_expected:
        report.faults.append(
            f"The digest {expected_digest} is not in the chain: lines it covered are gone or changed."
        )
    del report.faults[20:]
    return report


def _ledger_rows() -> Any:
    last = 0
    while page := execute(
        f"SELECT {_MOVEMENT_COLUMNS} FROM movements WHERE id > ? ORDER BY id LIMIT {_PAGE_SIZE}", last
    ).fetchall():
        yield from page
        last = page[-1][0]


def _check_line(report: LedgerReport, row: tuple[Any, ...]) -> str:
    *values, digest = row
    number, _, _, kind, part, lot, bin_, piece, quantity = values[:9]
    values[12] = bool(values[12])
    if number != report.lines + 1:
        report.faults.append(f"Line {report.lines + 1} is missing: the next line kept is {number}.")
    if line_digest(report.digest, values) != digest:
        report.faults.append(f"Line {number} does not match its digest: it or a line before it was changed.")
    report.lines, report.digest = number, digest
    if piece is None:
        report.loose[bin_, lot] += quantity
    else:
        report.pieces[piece] = part, lot, bin_ if quantity > 0 else None
    report.lots[lot] = part
    if kind == "receive":
        report.received[lot] += quantity
    return str(digest)


def _compare_head(report: LedgerReport) -> None:
    try:
        last, digest = head()
    except LookupError:
        report.faults.append("Where the ledger ends is not noted: nothing can be added to it.")
        return
    if (last, digest) != (report.lines, report.digest):
        report.faults.append(f"The ledger should end at line {last}, but ends at line {report.lines}.")


def _compare_balances(report: LedgerReport) -> None:
    balances = {(b, lot): (q, part) for b, lot, q, part in execute(_SELECT_BALANCES).fetchall()}
    for key in sorted(balances.keys() | report.loose.keys()):
        quantity, part = balances.get(key, (0, None))
        if quantity != report.loose[key]:
            report.faults.append(
                f"Bin {key[0]}, lot {key[1]}: the balance says {quantity}, the ledger adds up to {report.loose[key]}."
            )
        if part is not None and part != report.lots.get(key[1], part):
            report.faults.append(
                f"Bin {key[0]}, lot {key[1]}: the balance is of part {part}, the ledger says {report.lots[key[1]]}."
            )


_SELECT_BALANCES = "SELECT bin_id, lot_id, quantity, part_id FROM balances"


def _compare_pieces(report: LedgerReport) -> None:
    stored = {piece: (part, lot, bin_) for piece, part, lot, bin_ in execute(_SELECT_PIECES).fetchall()}
    for piece in sorted(stored.keys() | report.pieces.keys()):
        if piece not in stored:
            report.faults.append(f"Piece {piece} is in the ledger, and gone from the list of pieces.")
            continue
        part, lot, bin_ = stored[piece]
        its_part, its_lot, its_bin = report.pieces.get(piece, (part, lot, None))  # by the ledger
        if bin_ != its_bin:
            report.faults.append(f"Piece {piece} is noted in bin {bin_}, the ledger puts it in {its_bin}.")
        if (part, lot) != (its_part, its_lot):
            report.faults.append(
                f"Piece {piece} is noted as of part {part} and lot {lot}, the ledger says {its_part} and {its_lot}."
            )


_SELECT_PIECES = "SELECT id, part_id, lot_id, bin_id FROM pieces"


def _compare_lots(report: LedgerReport) -> None:
    stored = {
        lot: (part, quantity) for lot, part, quantity in execute("SELECT id, part_id, quantity FROM lots").fetchall()
    }
    for lot in sorted(stored.keys() | report.lots.keys()):
        if lot not in stored or lot not in report.lots:
            where = "list of lots" if lot in report.lots else "ledger"
            report.faults.append(f"Lot {lot} is gone from the {where}.")
            continue
        part, quantity = stored[lot]
        if part != report.lots[lot]:
            report.faults.append(f"Lot {lot} is noted as of part {part}, the ledger says {report.lots[lot]}.")
        if quantity != report.received[lot]:
            report.faults.append(
                f"Lot {lot}: {quantity} are noted as received, the ledger adds up to {report.received[lot]}."
            )


def _check_triggers(report: LedgerReport) -> None:
    """Check that the triggers that protect the ledger exist."""
    there = {
        str(name)
        for (name,) in execute(_SQLITE_TRIGGERS_QUERY if is_sqlite() else _POSTGRES_TRIGGERS_QUERY).fetchall()
    }
    report.faults += [
        f"The guard {name} is off: the ledger could be changed." for name in sorted(trigger_names() - there)
    ]


_SQLITE_TRIGGERS_QUERY = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'movements'"
_POSTGRES_TRIGGERS_QUERY = (
    "SELECT tgname FROM pg_trigger WHERE tgrelid = 'movements'::regclass AND NOT tgisinternal AND tgenabled <> 'D'"
)
