"""Parts that a job bought or took and did not need: each may become a spare, and its run in the unit proves it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.records import LotRecord, PartRecord, PieceRecord, from_row
from inventory.domain.common.validation import get_row
from inventory.domain.diagnosis.diagnosis_records import KeptSpare, SurplusPart
from inventory.domain.movements import adjustments, pull
from inventory.domain.proof import pieces, proofs
from inventory.store import job_use, ledger
from inventory.store.tables import Balance, Bin, Evidence, Job, Lot, OrderLine, Piece, Suspect


def surplus_parts(job_id: int) -> list[SurplusPart]:
    """Return the parts of cleared suspects that a job took, or that came in for it and lie in a bin."""
    get_row(Job, job_id, "job")
    cleared = Suspect.select().where(Suspect.job == job_id, Suspect.verdict == "good", Suspect.part.is_null(False))
    return [part for suspect in cleared.order_by(Suspect.id) for part in _surplus_of_suspect(job_id, suspect)]


def _surplus_of_suspect(job_id: int, suspect: Any) -> Iterator[SurplusPart]:
    if suspect.part.unit != "piece":
        return
    for line, quantity in job_use.loose_of_job(job_id, suspect.part_id):
        yield _surplus_part(job_id, suspect, line.lot, quantity, line.bin)
    for piece, line in job_use.pieces_of_job(job_id):
        if piece.part_id == suspect.part_id and not piece.spare:
            yield _surplus_part(job_id, suspect, piece.lot, 1, line.bin, piece)
    yield from _received_for_job(job_id, suspect)


def _received_for_job(job_id: int, suspect: Any) -> Iterator[SurplusPart]:
    """Yield what was ordered for the job and is still loose in a bin."""
    rows = (
        Balance.select(Balance, Lot, Bin).join(Lot).join(OrderLine).switch(Balance).join(Bin)
        .where(OrderLine.job_id == job_id, Balance.part == suspect.part_id, Balance.quantity > 0, ~Lot.on_hold)
    )  # fmt: skip
    for row in rows:
        yield _surplus_part(job_id, suspect, row.lot, row.quantity, row.bin, taken=False)


def _surplus_part(
    job_id: int, suspect: Any, lot: Any, quantity: int, bin_: Any, piece: Any = None, *, taken: bool = True
) -> SurplusPart:
    ran = _unit_ran_with(job_id, lot.id)
    origin = "The job took it" if taken else f"It came in for this job and lies in {bin_.shown_as}"
    proof = "; the unit worked with it, which is its proof" if ran else ""
    name = suspect.part.name
    return SurplusPart(
        from_row(PartRecord, suspect.part),
        from_row(LotRecord, lot),
        quantity,
        taken,
        bin_.id,
        bin_.shown_as,
        ran,
        f"{name}: it was not the {suspect.name}. {origin}{proof}. It can be kept as a spare.",
        piece.id if piece is not None else None,
    )


def _unit_ran_with(job_id: int, lot_id: int) -> bool:
    """Tell whether a run of the unit with a new part of a lot was logged as working."""
    seen = Evidence.select().where(
        Evidence.job == job_id, Evidence.lot == lot_id, Evidence.works, Evidence.struck.is_null()
    )
    return bool(seen.exists())


def keep_as_spare(
    job_id: int, *, lot_id: int | None = None, piece_id: int | None = None, bin_id: int | None = None,
    name: str = "", ran: bool = False, by: int | None = None,
) -> KeptSpare:  # fmt: skip
    """Make a part that a job did not need a spare: back into a bin, a piece of its own, and proved if it *ran*.

    *lot_id* is that of a loose part, *piece_id* a piece that the job has; *bin_id* where it goes (default: where it
    came from). *ran*: the unit did what it should with it. Raises Conflict when the job has none of it.
    """
    with ledger.ledger_transaction():
        if (lot_id is None) == (piece_id is None):
            raise Invalid("Say which part is to be kept: its lot, or the piece.", errors={"lot_id": ["Choose one."]})
        piece = (
            _keep_loose_unit(job_id, lot_id, bin_id, name, by)
            if lot_id
            else _keep_labelled_piece(job_id, piece_id, bin_id, name, by)
        )
        if ran:
            proofs.record_run_in_unit(piece.id, job_id, note="kept as a spare", by=by)
        bin_ = get_row(Bin, piece.bin_id, "bin")
        proof = "Its run in the unit is its proof" if ran else "Prove it before you rely on it"
        sentence = f"{piece.shown_as} is a spare in {bin_.shown_as} now. {proof}; print its label."
        return KeptSpare(piece, bin_.id, bin_.shown_as, ran, sentence)


def _keep_loose_unit(job_id: int, lot_id: int, bin_id: int | None, name: str, by: int | None) -> PieceRecord:
    surplus = next((part for part in surplus_parts(job_id) if part.lot.id == lot_id and part.piece_id is None), None)
    if surplus is None:
        raise Conflict(
            "This job has nothing left over of that lot: it was put back, kept already, or turned out to be needed.",
            reason="nothing_left_over",
        )
    came_from = int(surplus.bin_id)
    if surplus.taken:
        why = "not needed: kept as a spare"
        came_from = int(pull.put_back(1, job_id=job_id, lot_id=lot_id, by=by, reason=why).bin_id or came_from)
    result = adjustments.single_out(
        came_from, lot_id, name=name, by=by, note=f"Left over from a job: {surplus.sentence}"
    )
    return _moved_into_bin(result.made_pieces[0], bin_id, by)


def _keep_labelled_piece(
    job_id: int, piece_id: int | None, bin_id: int | None, name: str, by: int | None
) -> PieceRecord:
    pull.put_back(1, job_id=job_id, piece_id=piece_id, by=by, reason="not needed: kept as a spare")
    piece = get_row(Piece, piece_id, "piece")
    status = pieces.edit_piece(piece.id, spare=True, name=name.strip() or piece.name)
    return _moved_into_bin(status.piece, bin_id, by)


def _moved_into_bin(piece: PieceRecord, bin_id: int | None, by: int | None) -> PieceRecord:
    if bin_id is not None and bin_id != piece.bin_id:
        adjustments.move(bin_id, piece_id=piece.id, by=by)
    return from_row(PieceRecord, Piece.get_by_id(piece.id))
