"""Gathers what the database knows of pieces into the dated logs that ``reckoning.standing`` judges.

A fixed number of queries for a few hundred pieces at a time, however long their histories. What was logged by
mistake (a struck proof, a cancelled loan) is left out; a proof struck later still counted before that.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import JOIN

from inventory.domain.common.kind_figures import figures_by_kind, figures_of_part
from inventory.domain.common.shop import ShopConfig, shop_config
from inventory.domain.proof.readings import describe_reading
from inventory.reckoning.common.kind_defaults import KindDefaults
from inventory.reckoning.proof.piece_events import (
    Exposure,
    FromDonor,
    FromLot,
    JobClosed,
    JobOutcome,
    LotHeld,
    LotReleased,
    Mated,
    PieceEvent,
    ProofResult,
    SwapResult,
)
from inventory.store import tables as t
from inventory.store.connection import batches

DEFAULT_OTHERS_GOOD = 0.5  # assumed chance that all else in a unit was good, where the loan does not say


@dataclass(frozen=True)
class PieceLog:
    """One piece's log, with the figures of its kind."""

    piece_id: int
    kind: KindDefaults
    events: tuple[PieceEvent, ...]
    donor_not_noted: bool  # it came from a donor, and nobody noted whether that worked


def piece_logs(piece_ids: Iterable[int], at: datetime) -> list[PieceLog]:
    """Return the logs of pieces as they were believed at *at*, events up to then."""
    return [log for batch in batches(dict.fromkeys(piece_ids)) for log in _logs_of_batch(batch, at)]


def _logs_of_batch(ids: Sequence[int], at: datetime) -> list[PieceLog]:
    pieces = _piece_rows(ids)
    lots = {piece.lot for piece in pieces}
    proofs, loans, holds, carried = (
        _proofs_by_lot(lots, at),
        _ended_loans_by_piece(ids),
        _hold_events_by_lot(lots),
        _carried_back_by_piece(ids),
    )
    runs, tested = _failed_runs_by_piece(ids), _unlabelled_tests_by_lot(lots, at)
    mine = set(ids)
    kinds, own = figures_by_kind(), shop_config()
    failed = _failed_readings_by_proof(
        [p.id for some in proofs.values() for p in some if not p.passed and p.piece in mine]
    )
    return [
        PieceLog(
            piece.id, figures_of_part(piece, kinds),
            (
                *_origin_events(piece, proofs[piece.lot], tested[piece.lot]),
                *holds[piece.lot],
                *_proof_events(piece.id, proofs[piece.lot], loans[piece.id], failed),
                *_loan_events(piece, loans[piece.id], {event.job for event in carried[piece.id]}, own),
                *carried[piece.id],
                *runs[piece.id],
            ),
            piece.origin == "donor" and piece.donor_worked is None,
        )
        for piece in pieces
    ]  # fmt: skip


# ---- queries: only the columns that the log needs --------------------------------------------------------


def _piece_rows(ids: Sequence[int]) -> list[Any]:
    query = (
        t.Piece.select(
            t.Piece.id, t.Piece.lot, t.Piece.matings, t.Piece.created, t.Part.kind, t.Part.rated_matings,
            t.Lot.origin, t.Lot.donor_worked, t.Lot.received,
        )
        .join(t.Part).switch(t.Piece).join(t.Lot).where(t.Piece.id << ids)
    )  # fmt: skip
    return list(query.namedtuples())


def _proofs_by_lot(lots: Iterable[int], at: datetime) -> dict[int, list[Any]]:
    """Return by lot the proofs of its pieces up to *at*, oldest first."""
    query = (
        t.Proof.select(
            t.Proof.id, t.Proof.piece, t.Proof.at, t.Proof.passed, t.Proof.sensitivity, t.Proof.specificity,
            t.Piece.lot, t.Procedure.name.alias("procedure_name"), t.Job.number.alias("job_number"),
        )
        .join(t.Piece).switch(t.Proof).join(t.Procedure, JOIN.LEFT_OUTER).switch(t.Proof).join(t.Job, JOIN.LEFT_OUTER)
        .where(t.Piece.lot << list(lots), t.Proof.at <= at, t.Proof.struck.is_null() | (t.Proof.struck > at))
        .order_by(t.Proof.at, t.Proof.id)
    )  # fmt: skip
    by_lot: dict[int, list[Any]] = defaultdict(list)
    rows: list[Any] = list(query.namedtuples())
    for row in rows:
        by_lot[row.lot].append(row)
    return by_lot


def _unlabelled_tests_by_lot(lots: Iterable[int], at: datetime) -> dict[int, list[Any]]:
    """Return by lot those that were tested for an incoming check up to *at* and keep no proof of their own."""
    query = (
        t.IncomingTest.select(
            t.IncomingTest.id, t.IncomingTest.at, t.IncomingTest.good.alias("passed"), t.IncomingCheck.lot
        )
        .join(t.IncomingCheck)
        .where(
            t.IncomingCheck.lot << list(lots), t.IncomingTest.proof.is_null(), t.IncomingTest.at <= at,
            t.IncomingTest.struck.is_null() | (t.IncomingTest.struck > at),
        )
    )  # fmt: skip
    by_lot: dict[int, list[Any]] = defaultdict(list)
    rows: list[Any] = list(query.namedtuples())
    for row in rows:
        by_lot[row.lot].append(row)
    return by_lot


def _failed_readings_by_proof(proof_ids: Sequence[int]) -> dict[int, str]:
    """Return by proof which readings failed, in words."""
    said: dict[int, list[str]] = defaultdict(list)
    for batch in batches(proof_ids):
        rows = (
            t.ProofReading.select()
            .where(t.ProofReading.proof << batch, ~t.ProofReading.passed)
            .order_by(t.ProofReading.position)
        )
        for row in rows:
            said[row.proof_id].append(describe_reading(row))
    return {proof: "; ".join(texts) for proof, texts in said.items()}


def _ended_loans_by_piece(ids: Sequence[int]) -> dict[int, list[Any]]:
    """Return by piece the loans that ended with a result, oldest first."""
    query = (
        t.Loan.select(
            t.Loan.piece, t.Loan.job, t.Loan.suspect, t.Loan.ended, t.Loan.result, t.Loan.others_good, t.Loan.proof,
            t.Job.number.alias("job_number"), t.Job.closed.alias("job_closed"),
        )
        .join(t.Job)
        .where(t.Loan.piece << ids, t.Loan.ended.is_null(False), t.Loan.result != "cancelled")
        .order_by(t.Loan.ended, t.Loan.id)
    )  # fmt: skip
    by_piece: dict[int, list[Any]] = defaultdict(list)
    rows: list[Any] = list(query.namedtuples())
    for row in rows:
        by_piece[row.piece].append(row)
    return by_piece


def _carried_back_by_piece(ids: Sequence[int]) -> dict[int, list[JobOutcome]]:
    """Return by piece what closed jobs said of it, in the order in which they closed.

    One that was opened again says nothing until it is closed anew: meanwhile each swap on it counts by itself.
    """
    query = (
        t.PieceOutcome.select(
            t.PieceOutcome.piece, t.PieceOutcome.p_before, t.PieceOutcome.p_after, t.JobClosing.at, t.Job.number,
        )
        .join(t.JobClosing).join(t.Job).where(t.PieceOutcome.piece << ids, t.Job.closed.is_null(False))
        .order_by(t.JobClosing.at, t.JobClosing.id)
    )  # fmt: skip
    by_piece: dict[int, list[JobOutcome]] = defaultdict(list)
    rows: list[Any] = list(query.tuples())
    for piece, before, after, at, job in rows:
        by_piece[piece].append(JobOutcome(at, job, before, after))
    return by_piece


def _failed_runs_by_piece(ids: Sequence[int]) -> dict[int, list[Exposure]]:
    """Return by piece the logged runs in which a unit still failed with it while it was out.

    The last of them is what a loan that ended "still fails" tells again: that one is left to its result.
    """
    query = (
        t.EvidenceSpare.select(
            t.Loan.id, t.Loan.piece, t.Loan.result, t.Evidence.at, t.Job.number.alias("job_number")
        )
        .join(t.Loan).join(t.Job).switch(t.EvidenceSpare).join(t.Evidence)
        .where(t.Loan.piece << ids, ~t.Evidence.works, t.Evidence.struck.is_null(), t.Loan.result != "cancelled")
        .order_by(t.Evidence.at, t.Evidence.id)
    )  # fmt: skip
    by_loan: dict[int, list[Any]] = defaultdict(list)
    rows: list[Any] = list(query.namedtuples())
    for one in rows:
        by_loan[one.id].append(one)
    by_piece: dict[int, list[Exposure]] = defaultdict(list)
    for some in by_loan.values():
        for one in some[:-1] if some[0].result == "still fails" else some:
            by_piece[one.piece].append(Exposure(one.at, 1, f"a run of the unit of job {one.job_number} that failed"))
    return by_piece


def _hold_events_by_lot(lots: Iterable[int]) -> dict[int, list[PieceEvent]]:
    by_lot: dict[int, list[PieceEvent]] = defaultdict(list)
    for one in t.Hold.select().where(t.Hold.lot << list(lots)).order_by(t.Hold.at, t.Hold.id):
        by_lot[one.lot_id].append(LotHeld(one.at, one.reason))
        if one.is_released:
            by_lot[one.lot_id].append(LotReleased(one.ended))
    return by_lot


# ---- rows into events ------------------------------------------------------------------------------------


def _origin_events(piece: Any, proofs_of_lot: Sequence[Any], tested_loose: Sequence[Any]) -> list[PieceEvent]:
    """Say where a piece came from, and what its lot showed since: the first proof of each other piece, and those
    without a label of their own that were tested when it came in.

    Only failures and the last pass make an event: passes in a row add up to the same.
    """
    if piece.origin == "donor":
        return [FromDonor(piece.received, bool(piece.donor_worked))]
    first = {one.piece: one for one in reversed(proofs_of_lot) if one.piece != piece.id}
    others = sorted([*first.values(), *tested_loose], key=lambda one: (one.at, one.id))
    events: list[PieceEvent] = [FromLot(piece.received)]
    bad = 0
    for tested, one in enumerate(others, start=1):
        bad += not one.passed
        if not one.passed or tested == len(others):
            events.append(FromLot(one.at, tested, bad))
    return events


def _proof_events(
    piece_id: int, proofs_of_lot: Sequence[Any], loans: Sequence[Any], failed: Mapping[int, str]
) -> list[PieceEvent]:
    """Return a piece's own proofs, but for those that stand for a loan's result, which says it already."""
    from_loans = {loan.proof for loan in loans}
    own = [one for one in proofs_of_lot if one.piece == piece_id and one.id not in from_loans]
    return [
        ProofResult(
            one.at, one.passed, one.sensitivity, one.specificity, _procedure_name(one), failed.get(one.id, "")
        )
        for one in own
    ]


def _procedure_name(proof: Any) -> str:
    return str(proof.procedure_name or f"a run in the unit of job {proof.job_number}")


def _loan_events(piece: Any, loans: Sequence[Any], carried: Container[str], own: ShopConfig) -> list[PieceEvent]:
    """Return what each loan says: one more mating, and the result. Jobs in *carried* end by what they carried back.

    The same result twice running, for the same suspect of the same job, is one run repeated and counts once
    as evidence; the matings and the harm of each run count all the same.
    """
    events: list[PieceEvent] = []
    matings = max(0, piece.matings - len(loans))  # known of it before its first loan
    if matings:
        events.append(Mated(piece.created, 0, matings))
    last: dict[tuple[int, int | None], str] = {}
    for loan in loans:
        events.append(Mated(loan.ended, matings, matings + 1))
        matings += 1
        where = (loan.job, loan.suspect)
        events += _swap_result_events(
            loan, own, repeated=last.get(where) == loan.result, carried=loan.job_number in carried
        )
        last[where] = loan.result
    return events


def _swap_result_events(loan: Any, own: ShopConfig, *, repeated: bool, carried: bool) -> list[PieceEvent]:
    if loan.result == "cannot tell":
        return []
    works = loan.result == "works with it"
    if repeated:
        return [] if works else [Exposure(loan.ended, 1, f"the same run again on job {loan.job_number}")]
    a = DEFAULT_OTHERS_GOOD if loan.others_good is None else loan.others_good
    events: list[PieceEvent] = [SwapResult(loan.ended, works, a, own.mask, own.misread, loan.job_number)]
    if not works and not carried and loan.job_closed is not None and loan.job_closed >= loan.ended:
        events.append(JobClosed(loan.job_closed, loan.job_number))
    return events
