"""A recall: which jobs got something of a lot on hold, working through them, and the lots that may be no better."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory.domain.buying import incoming_lifecycle
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.parts import part
from inventory.domain.common import clock
from inventory.domain.common.csv_text import as_csv
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import ActionResult, HoldRecord, LotRecord, PartRecord, from_row
from inventory.domain.common.validation import clean_text, get_row, update_versioned
from inventory.domain.quality.trace import reached_jobs
from inventory.domain.quality.trace_records import ReachedJob, Recall, RecallLine, SimilarLot
from inventory.store import job_use, ledger
from inventory.store.connection import transaction
from inventory.store.tables import Balance, Hold, Job, Loan, Lot, Part, Piece, RecallCompletion

MAX_SIMILAR = 100


def recall(lot_id: int) -> Recall:
    """Return the jobs that a lot reached, with who saw to each; raise Conflict for a lot that was never on hold."""
    lot = lots.lot(lot_id)
    held = _hold_of_recall(lot_id)
    ticks = {tick.job_id: tick for tick in RecallCompletion.select().where(RecallCompletion.hold == held.id)}
    return Recall(
        lot,
        part(lot.part_id),
        held,
        tuple(_recall_line(reached, ticks.get(reached.job.id)) for reached in reached_jobs(lot_id)),
        lots.remaining_by_lot([lot_id]).get(lot_id, 0),
    )


def _hold_of_recall(lot_id: int) -> HoldRecord:
    """Return the hold that the list belongs to: the one in force, else the last."""
    holds = lots.holds(lot_id)
    if not holds:
        raise Conflict("This lot was never on hold: put it on hold first, and say why.", reason="not_on_hold")
    return next((hold for hold in holds if hold.ended is None), holds[0])


def _recall_line(reached: ReachedJob, tick: Any) -> RecallLine:
    person = tick.person.shown_as if tick is not None and tick.person_id else ""
    seen_to, note = (None, "") if tick is None else (tick.at, tick.note)
    return RecallLine(reached.job, reached.quantity, reached.borrowed, seen_to, person, note)


def tick_job(lot_id: int, job_id: int, *, note: str = "", done: bool = True, by: int | None = None) -> Recall:
    """Tick a job off the list of a lot on hold, or (*done* False) put it back on."""
    with transaction():
        clean_note = clean_text(note, "note", 300)
        held = _require_hold(lot_id)
        job = get_row(Job, job_id, "job")
        if job_id not in {reached.job.id for reached in reached_jobs(lot_id)}:
            raise Conflict(
                f"Job {job.number} got nothing of this lot: tick the jobs on the list.", reason="not_reached"
            )
        RecallCompletion.delete().where(RecallCompletion.hold == held.id, RecallCompletion.job == job_id).execute()
        if done:
            RecallCompletion.create(hold=held.id, job=job_id, at=clock.now(), person=by, note=clean_note)
        return recall(lot_id)


def _require_hold(lot_id: int) -> Any:
    lot = get_row(Lot, lot_id, "lot")
    held = Hold.get_or_none(Hold.lot == lot_id, Hold.ended.is_null())
    if held is not None:
        return held
    if lot.on_hold:
        raise Conflict(
            "The rest of this lot was scrapped, which closed its list: scrap what came back since by itself, or let "
            "the owner release it.", reason="not_on_hold",
        )  # fmt: skip
    raise Conflict("This lot is not on hold: its list is closed.", reason="not_on_hold")


# ---- ending it by scrapping ------------------------------------------------------------------------------


def scrap_rest(lot_id: int, outcome: str, *, by: int | None = None) -> ActionResult | None:
    """Scrap all that is left of a lot on hold and end the hold; return what was scrapped (None: nothing was left).

    What comes back from a job later goes on hold by itself. Raises Conflict while a piece of it is out.
    """
    with ledger.ledger_transaction():
        clean_outcome = clean_text(outcome, "outcome", 300, required=True)
        held = _require_hold(lot_id)
        lot = get_row(Lot, lot_id, "lot")
        _require_none_out(lot_id)
        lines = _scrap_lines(lot, clean_outcome, by)
        entry = ledger.append_lines(lines, clock.now()) if lines else None
        Hold.update(ended=clock.now(), ended_by=by, outcome=clean_outcome, condemned=True).where(
            Hold.id == held.id
        ).execute()
        update_versioned(lot, "lot", None)
        incoming_lifecycle.cancel_check_of_lot(lot_id, clean_outcome, by)
    if entry is None:
        return None
    number = -sum(line.quantity for line in lines)
    return ActionResult(
        entry, f"{quantity_text(number, lot.part)} of {lot.part.name} scrapped: nothing of lot {lot.code} is left.",
        lot.part_id, number, lines[0].bin_id, (lot_id,), tuple(line.piece_id for line in lines if line.piece_id),
    )  # fmt: skip


def _require_none_out(lot_id: int) -> None:
    out = Loan.select(Loan, Piece, Job).join(Piece).switch(Loan).join(Job)
    loan = out.where(Piece.lot == lot_id, Loan.ended.is_null()).first()
    if loan is not None:
        name = loan.piece.shown_as
        raise Conflict(
            f"Piece {name} of it is out with job {loan.job.number}: bring it back first.",
            reason="piece_out",
        )


def _scrap_lines(lot: Any, reason: str, by: int | None) -> list[ledger.LedgerLine]:
    loose = Balance.select().where(Balance.lot == lot.id, Balance.quantity > 0).order_by(Balance.bin)
    single = Piece.select().where(Piece.lot == lot.id, Piece.bin.is_null(False)).order_by(Piece.id)
    one_by_one = [
        ledger.LedgerLine("scrap", lot.part_id, lot.id, row.bin_id, -1, row.id, None, by, reason) for row in single
    ]  # fmt: skip
    return one_by_one + [
        ledger.LedgerLine("scrap", lot.part_id, lot.id, row.bin_id, -row.quantity, None, None, by, reason)
        for row in loose
    ]


# ---- lots that may be no better --------------------------------------------------------------------------


def similar_lots(lot_id: int) -> list[SimilarLot]:
    """Return the other lots with the same maker's lot number or date code, and something in common besides.

    The same lot number counts for the same part, supplier or maker; a date code alone is shared by many, and
    counts only for the same part.
    """
    held_lot = get_row(Lot, lot_id, "lot")
    condition = Lot.id < 0
    if held_lot.maker_lot:
        condition |= Lot.maker_lot == held_lot.maker_lot
    if held_lot.date_code:
        condition |= (Lot.date_code == held_lot.date_code) & (Lot.part == held_lot.part_id)
    query = Lot.select(Lot, Part).join(Part).where(condition, Lot.id != lot_id).order_by(Lot.id.desc())
    similar = [(other, _describe_similarity(held_lot, other)) for other in query.limit(MAX_SIMILAR)]
    left = lots.remaining_by_lot([other.id for other, _ in similar])
    return [
        SimilarLot(
            from_row(LotRecord, other),
            from_row(PartRecord, other.part),
            similarity,
            left.get(other.id, 0),
            len(job_use.of_lot(other.id)),
        )
        for other, similarity in similar
        if similarity
    ]


def _describe_similarity(held_lot: Any, other: Any) -> str:
    shared = [
        text
        for text, same in (
            ("the same part", other.part_id == held_lot.part_id),
            ("the same supplier", other.supplier_id is not None and other.supplier_id == held_lot.supplier_id),
            ("the same maker", bool(held_lot.part.maker) and other.part.maker == held_lot.part.maker),
        )
        if same
    ]
    codes = []
    if held_lot.maker_lot and other.maker_lot == held_lot.maker_lot:
        codes.append(f"maker's lot {held_lot.maker_lot}")
    if held_lot.date_code and other.date_code == held_lot.date_code and other.part_id == held_lot.part_id:
        codes.append(f"date code {held_lot.date_code}")
    return f"{' and '.join(codes)}, {shared[0]}" if codes and shared else ""


def hold_similar_lots(lot_id: int, lot_ids: Iterable[int], *, by: int | None = None) -> list[HoldRecord]:
    """Put lots that are like a held one on hold too, for the same reason; raise Invalid for one that is not alike."""
    with transaction():
        held, lot_row, similar = (
            _require_hold(lot_id),
            get_row(Lot, lot_id, "lot"),
            {similar_lot.lot.id: similar_lot for similar_lot in similar_lots(lot_id)},
        )
        chosen = list(dict.fromkeys(lot_ids))
        if not chosen or not set(chosen) <= set(similar):
            sentence = "Tick lots that share a maker's lot or date code with this one."
            raise Invalid(sentence, errors={"lot_ids": [sentence]})
        reason = f"{similar[chosen[0]].why.partition(',')[0]}, as lot {lot_row.code}: {held.reason}"
        return [lots.hold_lot(key, reason[:300], by=by) for key in chosen if not similar[key].lot.on_hold]


# ---- for a spreadsheet -----------------------------------------------------------------------------------

_CSV_HEADER = (
    "job", "status", "customer", "unit model", "unit serial", "opened", "closed", "fitted", "unit",
    "borrowed pieces", "seen to", "by", "note",
)  # fmt: skip


def recall_csv(lot_id: int) -> str:
    """Return the list of a recall as CSV (RFC 4180), one line a job; days are in UTC."""
    record = recall(lot_id)
    return as_csv(_CSV_HEADER, (_csv_row(line, record.part) for line in record.lines))


def _csv_row(line: RecallLine, part: PartRecord) -> tuple[object, ...]:
    job = line.job
    return (
        job.number, job.status, job.customer, job.unit_model, job.unit_serial, job.opened.date(),
        job.closed.date() if job.closed else "", line.quantity, part.unit,
        ", ".join(piece.shown_as for piece in line.borrowed), line.seen_to.date() if line.seen_to else "",
        line.person, line.note,
    )  # fmt: skip
