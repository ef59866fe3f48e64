"""Where pieces are: in a bin, out to a job, fitted in one, or gone. A fixed number of queries for many."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from peewee import JOIN, fn

from inventory.domain.common import clock
from inventory.domain.proof.proof_records import PieceLocation
from inventory.store.job_use import USE
from inventory.store.tables import Bin, Job, Loan, Movement


def piece_locations(pieces: Sequence[Any]) -> dict[int, PieceLocation]:
    """Return by piece where each of *pieces* (rows or records, at most a few hundred) is."""
    loans = _open_loans([piece.id for piece in pieces if piece.bin_id is not None])
    bins = {bin_.id: bin_ for bin_ in Bin.select().where(Bin.id << list({p.bin_id for p in pieces if p.bin_id}))}
    last_movements = _last_movements([piece.id for piece in pieces if piece.bin_id is None])
    locations = {}
    for piece in pieces:
        if piece.bin_id is None:
            locations[piece.id] = _departed_location(last_movements.get(piece.id))
        elif piece.id in loans:
            locations[piece.id] = _loan_location(loans[piece.id], bins[piece.bin_id])
        else:
            name = bins[piece.bin_id].name or bins[piece.bin_id].code
            locations[piece.id] = PieceLocation("in bin", f"in bin {name}", piece.bin_id, name)
    return locations


def _open_loans(ids: Sequence[int]) -> dict[int, Any]:
    rows = Loan.select(Loan, Job).join(Job).where(Loan.piece << ids, Loan.ended.is_null())
    return {row.piece_id: row for row in rows}


def _last_movements(ids: Sequence[int]) -> dict[int, Any]:
    last_ids = Movement.select(fn.MAX(Movement.id)).where(Movement.piece << ids).group_by(Movement.piece)
    undone = Movement.alias()
    rows = (
        Movement.select(Movement, Job, undone)
        .join(Job, JOIN.LEFT_OUTER).switch(Movement)
        .join(undone, JOIN.LEFT_OUTER, on=(Movement.reverses == undone.id), attr="undone")
        .where(Movement.id << last_ids)
    )  # fmt: skip
    return {row.piece_id: row for row in rows}


def _loan_location(loan: Any, home: Bin) -> PieceLocation:
    overdue = loan.due < clock.now()
    words = f"out with job {loan.job.number} since {loan.taken:%d %b %Y}"
    return PieceLocation(
        "out", f"{words}, overdue since {loan.due:%d %b %Y}" if overdue else words, home.id, home.shown_as,
        loan.job_id, loan.job.number, loan.id, loan.taken, loan.due, overdue,
    )  # fmt: skip


def _departed_location(last: Any) -> PieceLocation:
    """Return where a piece without a bin went, by its last movement."""
    if last is None:
        return PieceLocation("gone", "never received")
    kind = last.undone.kind if last.kind == "reverse" else last.kind
    day, job = f"{last.at:%d %b %Y}", last.job.number if last.job_id else ""
    if kind == "scrap":
        return PieceLocation("scrapped", f"scrapped on {day}: {last.reason}", since=last.at)
    if kind == "count":
        return PieceLocation("gone", f"missing at a count on {day}", since=last.at)
    if kind in USE and job:
        return PieceLocation(
            "fitted", f"fitted in job {job} since {day}", job_id=last.job_id, job_number=job, since=last.at
        )
    if kind == "single out":
        return PieceLocation("gone", f"among the loose stock again since {day}", since=last.at)
    if kind == "receive":
        return PieceLocation("gone", f"its receipt was undone on {day}", since=last.at)
    return PieceLocation("gone", f"taken on {day}: {last.reason}", since=last.at)
