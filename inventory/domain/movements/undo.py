"""Undoing: the ledger is never changed, so an undo is one more entry that goes the other way."""

from __future__ import annotations

from typing import Any

from inventory.domain.buying import incoming_lifecycle, orders
from inventory.domain.buying.bag_receipts import unlearn_from
from inventory.domain.catalogue.picking import bin_for
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, NotFound
from inventory.domain.common.records import Done
from inventory.domain.common.validation import clean
from inventory.domain.jobs import fitted_substitutes
from inventory.store import job_use, ledger
from inventory.store.connection import run
from inventory.store.tables import Bin, Loan, Movement, Part


def undo(entry: int, *, by: int | None = None, reason: str = "") -> Done:
    """Reverse everything that was done in one entry of the ledger.

    Raises Conflict when it was undone before, is an undo itself, what it brought in has since left, what it took was
    put back since, or the bin that it came from is not there for it any more.
    """
    with ledger.writing_lines():
        of_entry = Movement.id.between(*ledger.of_entry(entry)) & (Movement.entry == entry)
        rows = list(Movement.select().where(of_entry).order_by(Movement.id.desc()))
        if not rows:
            raise NotFound(f"The ledger has no entry {entry}.")
        _may_be_undone(rows)
        said = clean(reason, "reason", 300)
        before = fitted_substitutes.standing_for(rows[0].job_id, rows[0].part_id)
        _room_for(rows)
        try:
            made = ledger.append([_opposite(one, by, said) for one in rows], clock.now())
        except ledger.NotThere:
            raise _moved_on() from None
        if rows[0].kind in job_use.USE:
            changed = sum(one.quantity for one in rows)
            fitted_substitutes.meet_needs_anew(rows[0].job_id, rows[0].part_id, changed, before)
        warnings = _receipt_undone(rows) if rows[0].kind == "receive" else ()
        incoming_lifecycle.entry_undone(rows, by)
    part = Part.get_by_id(rows[0].part_id)
    return Done(
        made, f"Undone: {rows[0].kind} of {part.name}.", part.id, sum(abs(r.quantity) for r in rows),
        rows[0].bin_id, tuple({r.lot_id for r in rows}), tuple({r.piece_id for r in rows if r.piece_id}),
        rows[0].job_id, warnings=warnings,
    )  # fmt: skip


def _may_be_undone(rows: list[Movement]) -> None:
    if rows[0].kind == "reverse":
        raise Conflict("That entry is an undo itself: repeat the action instead.", reason="is_an_undo")
    if Movement.select().where(Movement.reverses.in_([one.id for one in rows])).exists():
        raise Conflict("That was undone already.", reason="undone_already")
    if rows[0].kind == "receive":
        _nothing_else_of(rows[0].lot_id)
    for one in rows:
        if one.piece_id is not None:
            _piece_must_not_have_moved(one)
        elif one.kind == "pull" and one.job_id is not None:
            _job_must_still_have(one)


def _moved_on(what: str = "What this brought in") -> Conflict:
    return Conflict(f"{what} has moved on since: undo the later movements first.", reason="moved_on")


_PIECE_LATER = (
    "SELECT COUNT(*) FROM movements m WHERE m.piece_id = ? AND m.id > ? AND m.entry <> ? AND m.reverses_id IS NULL"
    f" AND {job_use.STANDS}"
)


def _piece_must_not_have_moved(one: Any) -> None:
    """Refuse for a piece that is out, or that would come in though it went on from there since.

    One that is to be taken out again need only be there, which the ledger sees to.
    """
    if Loan.select().where(Loan.piece == one.piece_id, Loan.ended.is_null()).exists():
        raise Conflict("The piece is out with a job: bring it back first.", reason="piece_out")
    if one.quantity < 0 and run(_PIECE_LATER, one.piece_id, one.id, one.entry).fetchone()[0]:
        raise _moved_on(f"Piece {one.piece.name or one.piece.code}")


_WITH_THE_JOB = (
    "SELECT -m.quantity FROM movements m WHERE m.job_id = ? AND m.lot_id = ? AND m.piece_id IS NULL AND m.entry <> ?"
    f" AND m.kind IN {job_use.USE} AND {job_use.STANDS} ORDER BY m.id"
)


def _job_must_still_have(one: Any) -> None:
    """Refuse to undo a pull of which the job has put back some: it would come in twice."""
    has = 0
    for (taken,) in run(_WITH_THE_JOB, one.job_id, one.lot_id, one.entry).fetchall():
        has += taken
        if has < 0:
            sentence = f"Job {one.job.number} has put back some of that since: undo the put back first."
            raise Conflict(sentence, reason="put_back")


# what else became of a lot than coming in; a move and a singling out leave it where it is known
_ELSE = f"""
SELECT COUNT(*) FROM (
  SELECT 1 FROM {job_use.LINES} WHERE m.lot_id = ? AND {job_use.KIND} NOT IN ('receive', 'move', 'single out')
  GROUP BY CASE WHEN {job_use.IS_USE} THEN 'job' ELSE {job_use.KIND} END, m.job_id
  HAVING SUM(m.quantity) <> 0) AS stands
"""


def _nothing_else_of(lot_id: int) -> None:
    """Refuse to undo a receipt of whose lot a job has some, or some was scrapped, or a count found more or fewer."""
    if run(_ELSE, lot_id).fetchone()[0]:
        raise _moved_on()


def _room_for(rows: list[Movement]) -> None:
    """Refuse to bring anything back into a bin that is retired, or another part's by now."""
    for bin_id, part_id in {(one.bin_id, one.part_id) for one in rows if one.quantity < 0}:
        try:
            bin_for(bin_id, part_id)
        except Conflict as refused:
            name = Bin.get_by_id(bin_id).name
            what = {
                "bin_retired": f"Bin {name}, where it came from, is retired: bring that back into use first.",
                "other_part": f"Bin {name}, where it came from, is another part's by now: mark it as mixed first.",
            }
            raise Conflict(what.get(refused.reason, refused.sentence), reason=refused.reason) from None


def _opposite(one: Movement, by: int | None, reason: str) -> ledger.Line:
    return ledger.Line(
        "reverse", one.part_id, one.lot_id, one.bin_id, -one.quantity, one.piece_id, one.job_id, by, reason,
        one.one_off, one.id,
    )  # fmt: skip


def _receipt_undone(rows: list[Movement]) -> tuple[str, ...]:
    """Let the order line expect again what never came in, and unlearn what its bag taught; return what to mind."""
    lot = rows[0].lot
    again: tuple[str, ...] = ()
    if lot.order_line_id is not None:
        again = orders.expect_again(lot.order_line_id, sum(one.quantity for one in rows))
    return (*again, *unlearn_from(lot))
