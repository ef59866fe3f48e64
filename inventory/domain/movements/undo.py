"""Undoing: the ledger is never changed, so an undo is one more entry that goes the other way."""

from __future__ import annotations

from typing import Any

from inventory.domain.buying import incoming_lifecycle, orders
from inventory.domain.buying.bag_receipts import unlearn_receipt
from inventory.domain.catalogue.picking import claim_bin
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, NotFound
from inventory.domain.common.records import ActionResult
from inventory.domain.common.validation import clean_text
from inventory.domain.jobs import fitted_substitutes
from inventory.store import job_use, ledger
from inventory.store.connection import execute
from inventory.store.tables import Bin, Loan, Movement, Part


def undo(entry: int, *, by: int | None = None, reason: str = "") -> ActionResult:
    """Reverse everything that was done in one entry of the ledger.

    Raises Conflict when it was undone before, is an undo itself, what it brought in has since left, what it took was
    put back since, or the bin that it came from is not there for it any more.
    """
    with ledger.ledger_transaction():
        condition = Movement.id.between(*ledger.line_range(entry)) & (Movement.entry == entry)
        rows = list(Movement.select().where(condition).order_by(Movement.id.desc()))
        if not rows:
            raise NotFound(f"The ledger has no entry {entry}.")
        _check_undoable(rows)
        why = clean_text(reason, "reason", 300)
        before = fitted_substitutes.substituted_quantities(rows[0].job_id, rows[0].part_id)
        _check_bins_accept(rows)
        try:
            new_entry = ledger.append_lines([_reversal_line(row, by, why) for row in rows], clock.now())
        except ledger.InsufficientStock:
            raise _moved_on_error() from None
        if rows[0].kind in job_use.USE:
            changed = sum(row.quantity for row in rows)
            fitted_substitutes.recount_needs(rows[0].job_id, rows[0].part_id, changed, before)
        warnings = _undo_receipt(rows) if rows[0].kind == "receive" else ()
        incoming_lifecycle.cancel_checks_of_entry(rows, by)
    part = Part.get_by_id(rows[0].part_id)
    return ActionResult(
        new_entry, f"Undone: {rows[0].kind} of {part.name}.", part.id, sum(abs(r.quantity) for r in rows),
        rows[0].bin_id, tuple({r.lot_id for r in rows}), tuple({r.piece_id for r in rows if r.piece_id}),
        rows[0].job_id, warnings=warnings,
    )  # fmt: skip


def _check_undoable(rows: list[Movement]) -> None:
    if rows[0].kind == "reverse":
        raise Conflict("That entry is an undo itself: repeat the action instead.", reason="is_an_undo")
    if Movement.select().where(Movement.reverses.in_([row.id for row in rows])).exists():
        raise Conflict("That was undone already.", reason="undone_already")
    if rows[0].kind == "receive":
        _check_lot_unused(rows[0].lot_id)
    for row in rows:
        if row.piece_id is not None:
            _check_piece_unmoved(row)
        elif row.kind == "pull" and row.job_id is not None:
            _check_job_still_has(row)


def _moved_on_error(what: str = "What this brought in") -> Conflict:
    return Conflict(f"{what} has moved on since: undo the later movements first.", reason="moved_on")


_LATER_PIECE_MOVEMENTS = (
    "SELECT COUNT(*) FROM movements m WHERE m.piece_id = ? AND m.id > ? AND m.entry <> ? AND m.reverses_id IS NULL"
    f" AND {job_use.STANDS}"
)


def _check_piece_unmoved(line: Any) -> None:
    """Refuse for a piece that is lent, or that would come back although it was moved again since.

    One that is to be taken out again need only be there, which the ledger sees to.
    """
    if Loan.select().where(Loan.piece == line.piece_id, Loan.ended.is_null()).exists():
        raise Conflict("The piece is out with a job: bring it back first.", reason="piece_out")
    if line.quantity < 0 and execute(_LATER_PIECE_MOVEMENTS, line.piece_id, line.id, line.entry).fetchone()[0]:
        raise _moved_on_error(f"Piece {line.piece.shown_as}")


_JOB_LOT_MOVEMENTS = (
    "SELECT -m.quantity FROM movements m WHERE m.job_id = ? AND m.lot_id = ? AND m.piece_id IS NULL AND m.entry <> ?"
    f" AND m.kind IN {job_use.USE} AND {job_use.STANDS} ORDER BY m.id"
)


def _check_job_still_has(line: Any) -> None:
    """Refuse to undo a pull of which the job has put back some: it would come in twice."""
    has = 0
    for (taken,) in execute(_JOB_LOT_MOVEMENTS, line.job_id, line.lot_id, line.entry).fetchall():
        has += taken
        if has < 0:
            sentence = f"Job {line.job.number} has put back some of that since: undo the put back first."
            raise Conflict(sentence, reason="put_back")


# movements of a lot other than its receipt; a move or a singling out does not hinder the undo
_OTHER_LOT_MOVEMENTS = f"""
SELECT COUNT(*) FROM (
  SELECT 1 FROM {job_use.LINES} WHERE m.lot_id = ? AND {job_use.KIND} NOT IN ('receive', 'move', 'single out')
  GROUP BY CASE WHEN {job_use.IS_USE} THEN 'job' ELSE {job_use.KIND} END, m.job_id
  HAVING SUM(m.quantity) <> 0) AS stands
"""


def _check_lot_unused(lot_id: int) -> None:
    """Refuse to undo a receipt of whose lot a job has some, or some was scrapped, or a count found more or fewer."""
    if execute(_OTHER_LOT_MOVEMENTS, lot_id).fetchone()[0]:
        raise _moved_on_error()


def _check_bins_accept(rows: list[Movement]) -> None:
    """Refuse to bring anything back into a bin that is retired, or another part's by now."""
    for bin_id, part_id in {(row.bin_id, row.part_id) for row in rows if row.quantity < 0}:
        try:
            claim_bin(bin_id, part_id)
        except Conflict as refused:
            name = Bin.get_by_id(bin_id).name
            what = {
                "bin_retired": f"Bin {name}, where it came from, is retired: bring that back into use first.",
                "other_part": f"Bin {name}, where it came from, is another part's by now: mark it as mixed first.",
            }
            raise Conflict(what.get(refused.reason, refused.sentence), reason=refused.reason) from None


def _reversal_line(line: Movement, by: int | None, reason: str) -> ledger.LedgerLine:
    return ledger.LedgerLine(
        "reverse", line.part_id, line.lot_id, line.bin_id, -line.quantity, line.piece_id, line.job_id, by, reason,
        line.one_off, line.id,
    )  # fmt: skip


def _undo_receipt(rows: list[Movement]) -> tuple[str, ...]:
    """Let the order line expect the quantity again, and forget what the bag code taught; return the warnings."""
    lot = rows[0].lot
    warnings: tuple[str, ...] = ()
    if lot.order_line_id is not None:
        warnings = orders.restore_expected_quantity(lot.order_line_id, sum(row.quantity for row in rows))
    return (*warnings, *unlearn_receipt(lot))
