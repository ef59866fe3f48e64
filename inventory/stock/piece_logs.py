"""Gathers what the database knows of pieces into the dated logs that ``reckoning.standing`` judges.

A fixed number of queries for a few hundred pieces at a time, however long their histories. What was logged by
mistake (a struck proof, a cancelled loan) is left out; a proof struck later still counted before that.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import JOIN

from inventory.reckoning.events import (
    Event,
    Exposure,
    FromDonor,
    FromLot,
    JobClosed,
    LotHeld,
    LotReleased,
    Mated,
    Proof,
    SwapResult,
)
from inventory.reckoning.kinds import KindDefaults, defaults_for, with_matings
from inventory.stock.readings import says_again
from inventory.store import tables as t

BATCH = 500
EVEN = 0.5  # assumed chance that all else in a unit was good, where the loan does not say


@dataclass(frozen=True)
class PieceLog:
    """One piece's log, with the figures of its kind."""

    piece: t.Piece  # with its part and lot
    kind: KindDefaults
    events: tuple[Event, ...]


def kind_of(part: Any) -> KindDefaults:
    """Return the figures assumed of a part: those of its kind, with the mating cycles of its data sheet."""
    figures = defaults_for(part.kind)
    return figures if part.rated_matings is None else with_matings(figures, part.rated_matings)


def logs(piece_ids: Iterable[int], at: datetime) -> list[PieceLog]:
    """Return the logs of pieces as they were believed at *at*; events after it are left to the reckoning."""
    ids = list(dict.fromkeys(piece_ids))
    found: list[PieceLog] = []
    for start in range(0, len(ids), BATCH):
        found += _batch(ids[start : start + BATCH], at)
    return found


def _batch(ids: Sequence[int], at: datetime) -> list[PieceLog]:
    pieces = list(
        t.Piece.select(t.Piece, t.Part, t.Lot).join(t.Part).switch(t.Piece).join(t.Lot).where(t.Piece.id << ids)
    )
    lots = {one.lot_id for one in pieces}
    proofs, loans, holds = _proofs(lots, at), _loans(ids), _holds(lots)
    return [
        PieceLog(
            one, kind_of(one.part),
            (
                *_origin(one, proofs[one.lot_id]),
                *holds[one.lot_id],
                *_proved(one, proofs[one.lot_id], loans[one.id]),
                *_lent(one, loans[one.id]),
            ),
        )
        for one in pieces
    ]  # fmt: skip


# ---- queries ---------------------------------------------------------------------------------------------


def _proofs(lots: Iterable[int], at: datetime) -> dict[int, list[Any]]:
    """Return the proofs of every piece of *lots*, oldest first, each with the readings that failed."""
    rows: list[Any] = list(
        t.Proof.select(t.Proof, t.Piece, t.Procedure, t.Job)
        .join(t.Piece).switch(t.Proof).join(t.Procedure, JOIN.LEFT_OUTER).switch(t.Proof).join(t.Job, JOIN.LEFT_OUTER)
        .where(t.Piece.lot << list(lots), t.Proof.struck.is_null() | (t.Proof.struck > at))
        .order_by(t.Proof.at, t.Proof.id)
    )  # fmt: skip
    failed = _failed_readings([one.id for one in rows if not one.passed])
    by_lot: dict[int, list[Any]] = defaultdict(list)
    for one in rows:
        one.failed_reading = failed.get(one.id, "")
        by_lot[one.piece.lot_id].append(one)
    return by_lot


def _failed_readings(proof_ids: Sequence[int]) -> dict[int, str]:
    said: dict[int, list[str]] = defaultdict(list)
    for start in range(0, len(proof_ids), BATCH):
        some = proof_ids[start : start + BATCH]
        rows = t.Reading.select().where(t.Reading.proof << some, ~t.Reading.passed).order_by(t.Reading.position)
        for one in rows:
            said[one.proof_id].append(says_again(one))
    return {proof: "; ".join(texts) for proof, texts in said.items()}


def _loans(ids: Sequence[int]) -> dict[int, list[Any]]:
    """Return the loans that ended with a result, oldest first."""
    rows = (
        t.Loan.select(t.Loan, t.Job).join(t.Job)
        .where(t.Loan.piece << ids, t.Loan.ended.is_null(False), t.Loan.result != "cancelled")
        .order_by(t.Loan.ended, t.Loan.id)
    )  # fmt: skip
    by_piece: dict[int, list[Any]] = defaultdict(list)
    for one in rows:
        by_piece[one.piece_id].append(one)
    return by_piece


def _holds(lots: Iterable[int]) -> dict[int, list[Event]]:
    by_lot: dict[int, list[Event]] = defaultdict(list)
    for one in t.Hold.select().where(t.Hold.lot << list(lots)).order_by(t.Hold.at, t.Hold.id):
        by_lot[one.lot_id].append(LotHeld(one.at, one.reason))
        if one.ended is not None:
            by_lot[one.lot_id].append(LotReleased(one.ended))
    return by_lot


# ---- rows into events ------------------------------------------------------------------------------------


def _origin(piece: t.Piece, proofs_of_lot: Sequence[Any]) -> list[Event]:
    """Say where a piece came from, and what its lot showed since: the first proof of each other piece."""
    lot = piece.lot
    if lot.origin == "donor":
        return [FromDonor(lot.received, bool(lot.donor_worked))]
    events: list[Event] = [FromLot(lot.received)]
    seen: set[int] = set()
    bad = 0
    for one in proofs_of_lot:
        if one.piece_id != piece.id and one.piece_id not in seen:
            seen.add(one.piece_id)
            bad += not one.passed
            events.append(FromLot(one.at, len(seen), bad))
    return events


def _proved(piece: t.Piece, proofs_of_lot: Sequence[Any], loans: Sequence[Any]) -> list[Event]:
    """Return a piece's own proofs, but for those that stand for a loan's result, which says it already."""
    from_loans = {one.proof_id for one in loans}
    return [
        Proof(one.at, one.passed, one.sensitivity, one.specificity, _procedure(one), one.failed_reading)
        for one in proofs_of_lot
        if one.piece_id == piece.id and one.id not in from_loans
    ]


def _procedure(proof: Any) -> str:
    return str(proof.procedure.name) if proof.procedure_id else f"a run in the unit of job {proof.job.number}"


def _lent(piece: t.Piece, loans: Sequence[Any]) -> list[Event]:
    """Return what each loan says: one more mating, and the result.

    The same result twice running, for the same suspect of the same job, is one run repeated and counts once
    as evidence; the matings and the harm of each run count all the same.
    """
    events: list[Event] = []
    matings = max(0, piece.matings - len(loans))  # known of it before its first loan
    if matings:
        events.append(Mated(piece.created, 0, matings))
    last: dict[tuple[int, int | None], str] = {}
    for one in loans:
        events.append(Mated(one.ended, matings, matings + 1))
        matings += 1
        where = (one.job_id, one.suspect_id)
        events += _result(one, repeated=last.get(where) == one.result)
        last[where] = one.result
    return events


def _result(loan: Any, *, repeated: bool) -> list[Event]:
    if loan.result == "cannot tell":
        return []
    works = loan.result == "works with it"
    if repeated:
        return [] if works else [Exposure(loan.ended, 1, f"the same run again on job {loan.job.number}")]
    a = EVEN if loan.others_good is None else loan.others_good
    events: list[Event] = [SwapResult(loan.ended, works, a, job=loan.job.number)]
    closed = loan.job.closed
    if not works and closed is not None and closed >= loan.ended:
        events.append(JobClosed(closed, loan.job.number))
    return events
