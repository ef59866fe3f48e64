"""Undoing: the ledger is never changed, so an undo is one more entry that goes the other way."""

from __future__ import annotations

from collections import Counter

from inventory.stock import clock, incoming_open, stand_ins
from inventory.stock.bagcodes import unlearn_from
from inventory.stock.pull import taken_by_job
from inventory.stock.records import Done
from inventory.stock.refusals import Conflict, NotFound
from inventory.stock.rules import clean, row
from inventory.store import ledger
from inventory.store.tables import Job, Loan, Movement, Order, OrderLine, Part


def undo(entry: int, *, by: int | None = None, reason: str = "") -> Done:
    """Reverse everything that was done in one entry of the ledger.

    Raises Conflict when it was undone before, is an undo itself, what it brought in has since left, or what it took
    was put back since.
    """
    with ledger.writing_lines():
        of_entry = Movement.id.between(*ledger.of_entry(entry)) & (Movement.entry == entry)
        rows = list(Movement.select().where(of_entry).order_by(Movement.id.desc()))
        if not rows:
            raise NotFound(f"The ledger has no entry {entry}.")
        _may_be_undone(rows)
        said = clean(reason, "reason", 300)
        before = stand_ins.standing_for(rows[0].job_id, rows[0].part_id)
        try:
            made = ledger.append([_opposite(one, by, said) for one in rows], clock.now())
        except ledger.NotThere:
            raise Conflict(
                "What this brought in has moved on since: undo the later movements first.", reason="moved_on"
            ) from None
        if rows[0].kind in ("pull", "put back"):
            changed = sum(one.quantity for one in rows)
            stand_ins.meet_needs_anew(rows[0].job_id, rows[0].part_id, changed, before)
        for one in rows:
            _expect_again(one)
        incoming_open.entry_undone(rows, by)
        unlearned = unlearn_from(rows[0].lot) if rows[0].kind == "receive" else ()
    part = Part.get_by_id(rows[0].part_id)
    return Done(
        made, f"Undone: {rows[0].kind} of {part.name}.", part.id, sum(abs(r.quantity) for r in rows),
        rows[0].bin_id, tuple({r.lot_id for r in rows}), tuple({r.piece_id for r in rows if r.piece_id}),
        rows[0].job_id, warnings=unlearned,
    )  # fmt: skip


def _may_be_undone(rows: list[Movement]) -> None:
    if rows[0].kind == "reverse":
        raise Conflict("That entry is an undo itself: repeat the action instead.", reason="is_an_undo")
    if Movement.select().where(Movement.reverses.in_([one.id for one in rows])).exists():
        raise Conflict("That was undone already.", reason="undone_already")
    for one in rows:
        if one.piece_id and Loan.select().where(Loan.piece == one.piece_id, Loan.ended.is_null()).exists():
            raise Conflict("The piece is out with a job: bring it back first.", reason="piece_out")
    if rows[0].kind == "pull" and rows[0].job_id is not None:
        _must_still_have(rows)


def _must_still_have(rows: list[Movement]) -> None:
    """Refuse to undo a pull of which the job has put back some: it would come in twice."""
    has = Counter({movement.lot_id: number for movement, number in taken_by_job(rows[0].job_id, rows[0].part_id)})
    for one in rows:
        has[one.lot_id] += one.quantity if one.piece_id is None else 0
    if min(has.values()) < 0:
        job = row(Job, rows[0].job_id, "job")
        raise Conflict(
            f"Job {job.number} has put back some of that since: undo the put back first.", reason="put_back"
        )


def _opposite(one: Movement, by: int | None, reason: str) -> ledger.Line:
    return ledger.Line(
        "reverse", one.part_id, one.lot_id, one.bin_id, -one.quantity, one.piece_id, one.job_id, by, reason,
        one.one_off, one.id,
    )  # fmt: skip


def _expect_again(one: Movement) -> None:
    """Let the order line of a receipt that is undone expect it again."""
    line = one.lot.order_line
    if one.kind == "receive" and line is not None:
        OrderLine.update(received=OrderLine.received - one.quantity).where(OrderLine.id == line.id).execute()
        opened = {"status": "placed", "closed": None} if line.order.status == "received" else {}
        Order.update(**opened, version=Order.version + 1).where(Order.id == line.order_id).execute()
