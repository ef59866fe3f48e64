"""Movement history: ledger lines of a part, a bin, a lot, a piece, a job or a person."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from peewee import JOIN

from inventory.domain.common.paging import paginate
from inventory.domain.common.records import MovementRecord, ResultPage
from inventory.domain.common.validation import get_row
from inventory.store import ledger
from inventory.store.tables import Bin, Job, Lot, Movement, Part, Person, Piece

MOVEMENT_KINDS = ledger.MOVEMENT_KINDS


def movements(
    *, part_id: int | None = None, bin_id: int | None = None, lot_id: int | None = None, piece_id: int | None = None,
    job_id: int | None = None, person_id: int | None = None, kind: str | None = None, entry: int | None = None,
    since: datetime | None = None, until: datetime | None = None, after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return ledger lines, newest first, that match every filter that is not None."""
    query = _with_names()
    for column, value in (
        (Movement.part, part_id), (Movement.bin, bin_id), (Movement.lot, lot_id), (Movement.piece, piece_id),
        (Movement.job, job_id), (Movement.person, person_id), (Movement.kind, kind),
    ):  # fmt: skip
        if value is not None:
            query = query.where(column == value)
    if entry is not None:
        query = query.where(Movement.entry == entry, Movement.id.between(*ledger.line_range(entry)))
    if since is not None:
        query = query.where(Movement.at >= since)
    if until is not None:
        query = query.where(Movement.at < until)
    return paginate(query, Movement.id, after, limit, _record, descending=True)


def movement(movement_id: int) -> MovementRecord:
    """Return one line of the ledger."""
    get_row(Movement, movement_id, "movement")
    return _record(_with_names().where(Movement.id == movement_id).get())


_Reversal = Movement.alias()


def _with_names() -> Any:
    return (
        Movement.select(Movement, Part, Lot, Bin, Piece, Job, Person, _Reversal)
        .join(Part).switch(Movement).join(Lot).switch(Movement).join(Bin).switch(Movement)
        .join(Piece, JOIN.LEFT_OUTER).switch(Movement).join(Job, JOIN.LEFT_OUTER).switch(Movement)
        .join(Person, JOIN.LEFT_OUTER).switch(Movement)
        .join(_Reversal, JOIN.LEFT_OUTER, on=(_Reversal.reverses == Movement.id), attr="undone_by")
    )  # fmt: skip


def _record(row: Any) -> MovementRecord:
    piece = row.piece if row.piece_id else None
    return MovementRecord(
        id=row.id, entry=row.entry, at=row.at, kind=row.kind, part_id=row.part_id, part_number=row.part.number,
        part_name=row.part.name, unit=row.part.unit, lot_id=row.lot_id, lot_code=row.lot.code, bin_id=row.bin_id,
        bin_name=row.bin.shown_as, piece_id=row.piece_id,
        piece_name=piece.shown_as if piece else "", quantity=row.quantity, job_id=row.job_id,
        job_number=row.job.number if row.job_id else "", person=row.person.shown_as if row.person_id else "",
        reason=row.reason, one_off=row.one_off, reverses_id=row.reverses_id,
        reversed=getattr(row, "undone_by", None) is not None, digest=row.digest,
    )  # fmt: skip
