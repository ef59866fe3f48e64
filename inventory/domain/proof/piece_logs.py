"""Gathers what the database knows of pieces into the dated logs that ``reckoning.proof.standing`` judges.

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
from inventory.domain.proof.loans import CANCELLED, HAS_RESULT, STILL_FAILS, UNIT_WORKED
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
    donor_not_noted: bool  # it came from a donor unit, and whether that worked was not noted


def piece_logs(piece_ids: Iterable[int], moment: datetime) -> list[PieceLog]:
    """Return the logs of pieces with the events up to a moment, as they were known then."""
    return [log for batch in batches(dict.fromkeys(piece_ids)) for log in _logs_of_batch(batch, moment)]


def _logs_of_batch(ids: Sequence[int], moment: datetime) -> list[PieceLog]:
    pieces = _piece_rows(ids)
    lots = {piece.lot for piece in pieces}
    proofs, unlabelled, holds = (
        _proofs_by_lot(lots, moment),
        _unlabelled_tests_by_lot(lots, moment),
        _holds_by_lot(lots),
    )
    loans, outcomes, runs = _ended_loans_by_piece(ids), _outcomes_by_piece(ids), _failed_runs_by_piece(ids)
    kinds, config = figures_by_kind(), shop_config()
    failed = _failed_readings_by_proof(
        [p.id for rows in proofs.values() for p in rows if not p.passed and p.piece in set(ids)]
    )
    return [
        PieceLog(
            piece.id, figures_of_part(piece, kinds),
            (
                *_origin_events(piece, proofs[piece.lot], unlabelled[piece.lot]),
                *holds[piece.lot],
                *_proof_events(piece.id, proofs[piece.lot], loans[piece.id], failed),
                *_loan_events(piece, loans[piece.id], {event.job for event in outcomes[piece.id]}, config),
                *outcomes[piece.id],
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


def _group_by(rows: Iterable[Any], column: str) -> dict[int, list[Any]]:
    groups: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        groups[getattr(row, column)].append(row)
    return groups


def _proofs_by_lot(lots: Iterable[int], moment: datetime) -> dict[int, list[Any]]:
    """Return by lot the proofs of its pieces up to a moment, oldest first."""
    query = (
        t.Proof.select(
            t.Proof.id, t.Proof.piece, t.Proof.at, t.Proof.passed, t.Proof.sensitivity, t.Proof.specificity,
            t.Piece.lot, t.Procedure.name.alias("procedure_name"), t.Job.number.alias("job_number"),
        )
        .join(t.Piece).switch(t.Proof).join(t.Procedure, JOIN.LEFT_OUTER).switch(t.Proof).join(t.Job, JOIN.LEFT_OUTER)
        .where(t.Piece.lot << list(lots), t.Proof.at <= moment, t.Proof.struck.is_null() | (t.Proof.struck > moment))
        .order_by(t.Proof.at, t.Proof.id)
    )  # fmt: skip
    return _group_by(query.namedtuples(), "lot")


def _unlabelled_tests_by_lot(lots: Iterable[int], moment: datetime) -> dict[int, list[Any]]:
    """Return by lot the tests of incoming checks up to a moment that have no proof of a piece of their own."""
    query = (
        t.IncomingTest.select(
            t.IncomingTest.id, t.IncomingTest.at, t.IncomingTest.good.alias("passed"), t.IncomingCheck.lot
        )
        .join(t.IncomingCheck)
        .where(
            t.IncomingCheck.lot << list(lots), t.IncomingTest.proof.is_null(), t.IncomingTest.at <= moment,
            t.IncomingTest.struck.is_null() | (t.IncomingTest.struck > moment),
        )
    )  # fmt: skip
    return _group_by(query.namedtuples(), "lot")


def _failed_readings_by_proof(proof_ids: Sequence[int]) -> dict[int, str]:
    """Return by proof which readings failed, in words."""
    texts_by_proof: dict[int, list[str]] = defaultdict(list)
    for batch in batches(proof_ids):
        rows = t.ProofReading.select().where(t.ProofReading.proof << batch, ~t.ProofReading.passed)
        for row in rows.order_by(t.ProofReading.position):
            texts_by_proof[row.proof_id].append(describe_reading(row))
    return {proof: "; ".join(texts) for proof, texts in texts_by_proof.items()}


def _ended_loans_by_piece(ids: Sequence[int]) -> dict[int, list[Any]]:
    """Return by piece the loans that ended with a result, oldest first."""
    query = (
        t.Loan.select(
            t.Loan.piece, t.Loan.job, t.Loan.suspect, t.Loan.ended, t.Loan.result, t.Loan.others_good, t.Loan.proof,
            t.Job.number.alias("job_number"), t.Job.closed.alias("job_closed"),
        )
        .join(t.Job)
        .where(t.Loan.piece << ids, HAS_RESULT)
        .order_by(t.Loan.ended, t.Loan.id)
    )  # fmt: skip
    return _group_by(query.namedtuples(), "piece")


def _outcomes_by_piece(ids: Sequence[int]) -> dict[int, list[JobOutcome]]:
    """Return by piece the outcomes of closed jobs, in the order in which they closed.

    A reopened job gives none until it is closed again: meanwhile each swap on it counts by itself.
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
    for piece, before, after, closed, job in rows:
        by_piece[piece].append(JobOutcome(closed, job, before, after))
    return by_piece


def _failed_runs_by_piece(ids: Sequence[int]) -> dict[int, list[Exposure]]:
    """Return by piece the logged runs in which a unit still failed with it while it was out.

    The last run of a loan that ended "still fails" is left out: the result of the loan says the same again.
    """
    query = (
        t.EvidenceSpare.select(
            t.Loan.id, t.Loan.piece, t.Loan.result, t.Evidence.at, t.Job.number.alias("job_number")
        )
        .join(t.Loan).join(t.Job).switch(t.EvidenceSpare).join(t.Evidence)
        .where(t.Loan.piece << ids, ~t.Evidence.works, t.Evidence.struck.is_null(), t.Loan.result != CANCELLED)
        .order_by(t.Evidence.at, t.Evidence.id)
    )  # fmt: skip
    by_piece: dict[int, list[Exposure]] = defaultdict(list)
    for runs in _group_by(query.namedtuples(), "id").values():
        for run in runs[:-1] if runs[0].result == STILL_FAILS else runs:
            by_piece[run.piece].append(Exposure(run.at, 1, f"a run of the unit of job {run.job_number} that failed"))
    return by_piece


def _holds_by_lot(lots: Iterable[int]) -> dict[int, list[PieceEvent]]:
    by_lot: dict[int, list[PieceEvent]] = defaultdict(list)
    for hold in t.Hold.select().where(t.Hold.lot << list(lots)).order_by(t.Hold.at, t.Hold.id):
        by_lot[hold.lot_id].append(LotHeld(hold.at, hold.reason))
        if hold.ended is not None and not hold.condemned:
            by_lot[hold.lot_id].append(LotReleased(hold.ended))
    return by_lot


# ---- rows into events ------------------------------------------------------------------------------------


def tests_of_lot(lot_id: int, moment: datetime) -> list[Any]:
    """Return the tests of a lot up to a moment that are evidence about it: rows with ``at`` and ``passed``."""
    return _lot_evidence(_proofs_by_lot([lot_id], moment)[lot_id], _unlabelled_tests_by_lot([lot_id], moment)[lot_id])


def _lot_evidence(
    proofs_of_lot: Sequence[Any], unlabelled: Sequence[Any], excluded_piece: int | None = None
) -> list[Any]:
    """Return the first proof of each piece of a lot, and each test of a unit without a label, oldest first."""
    first = {proof.piece: proof for proof in reversed(proofs_of_lot) if proof.piece != excluded_piece}
    return sorted([*first.values(), *unlabelled], key=lambda test: (test.at, test.id))


def _origin_events(piece: Any, proofs_of_lot: Sequence[Any], unlabelled: Sequence[Any]) -> list[PieceEvent]:
    """Return where a piece came from, and what the tests of the other units of its lot showed.

    Only failures and the last pass make an event: passes in a row add up to the same.
    """
    if piece.origin == "donor":
        return [FromDonor(piece.received, bool(piece.donor_worked))]
    others = _lot_evidence(proofs_of_lot, unlabelled, excluded_piece=piece.id)
    events: list[PieceEvent] = [FromLot(piece.received)]
    bad = 0
    for tested, test in enumerate(others, start=1):
        bad += not test.passed
        if not test.passed or tested == len(others):
            events.append(FromLot(test.at, tested, bad))
    return events


def _proof_events(
    piece_id: int, proofs_of_lot: Sequence[Any], loans: Sequence[Any], failed: Mapping[int, str]
) -> list[PieceEvent]:
    """Return a piece's own proofs, except those recorded from a loan: its result counts already."""
    from_loans = {loan.proof for loan in loans}
    proofs = [proof for proof in proofs_of_lot if proof.piece == piece_id and proof.id not in from_loans]
    return [
        ProofResult(
            proof.at,
            proof.passed,
            proof.sensitivity,
            proof.specificity,
            _procedure_name(proof),
            failed.get(proof.id, ""),
        )
        for proof in proofs
    ]


def _procedure_name(proof: Any) -> str:
    return str(proof.procedure_name or f"a run in the unit of job {proof.job_number}")


def _loan_events(piece: Any, loans: Sequence[Any], carried: Container[str], config: ShopConfig) -> list[PieceEvent]:
    """Return one mating and the result of each loan; the jobs in *carried* close with their own outcome events.

    The same result twice running, for the same suspect of the same job, is one run repeated and counts once
    as evidence; the matings and the harm of each run count all the same.
    """
    events: list[PieceEvent] = []
    matings = max(0, piece.matings - len(loans))  # counted before its first loan
    if matings:
        events.append(Mated(piece.created, 0, matings))
    last: dict[tuple[int, int | None], str] = {}
    for loan in loans:
        events.append(Mated(loan.ended, matings, matings + 1))
        matings += 1
        where = (loan.job, loan.suspect)
        events += _swap_result_events(
            loan, config, repeated=last.get(where) == loan.result, carried=loan.job_number in carried
        )
        last[where] = loan.result
    return events


def _swap_result_events(loan: Any, config: ShopConfig, *, repeated: bool, carried: bool) -> list[PieceEvent]:
    works = UNIT_WORKED.get(loan.result)
    if works is None:
        return []
    if repeated:
        return [] if works else [Exposure(loan.ended, 1, f"the same run again on job {loan.job_number}")]
    a = DEFAULT_OTHERS_GOOD if loan.others_good is None else loan.others_good
    events: list[PieceEvent] = [SwapResult(loan.ended, works, a, config.mask, config.misread, loan.job_number)]
    if not works and not carried and loan.job_closed is not None and loan.job_closed >= loan.ended:
        events.append(JobClosed(loan.job_closed, loan.job_number))
    return events
