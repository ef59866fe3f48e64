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

from inventory.domain.common.kind_figures import figures_of, table
from inventory.domain.common.shop import Shop, shop
from inventory.domain.proof.readings import says_again
from inventory.reckoning.common.kind_defaults import KindDefaults
from inventory.reckoning.proof.piece_events import (
    CarriedBack,
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
from inventory.store import tables as t

BATCH = 500
EVEN = 0.5  # assumed chance that all else in a unit was good, where the loan does not say


@dataclass(frozen=True)
class PieceLog:
    """One piece's log, with the figures of its kind."""

    piece_id: int
    kind: KindDefaults
    events: tuple[Event, ...]
    donor_not_noted: bool  # it came from a donor, and nobody noted whether that worked


def logs(piece_ids: Iterable[int], at: datetime) -> list[PieceLog]:
    """Return the logs of pieces as they were believed at *at*, events up to then."""
    ids = list(dict.fromkeys(piece_ids))
    found: list[PieceLog] = []
    for start in range(0, len(ids), BATCH):
        found += _batch(ids[start : start + BATCH], at)
    return found


def _batch(ids: Sequence[int], at: datetime) -> list[PieceLog]:
    pieces = _pieces(ids)
    lots = {one.lot for one in pieces}
    proofs, loans, holds, carried = _proofs(lots, at), _loans(ids), _holds(lots), _carried(ids)
    runs, tested = _failed_runs(ids), _tested_loose(lots, at)
    mine = set(ids)
    kinds, own = table(), shop()
    failed = _failed_readings([p.id for some in proofs.values() for p in some if not p.passed and p.piece in mine])
    return [
        PieceLog(
            one.id, figures_of(one, kinds),
            (
                *_origin(one, proofs[one.lot], tested[one.lot]),
                *holds[one.lot],
                *_proved(one.id, proofs[one.lot], loans[one.id], failed),
                *_lent(one, loans[one.id], {event.job for event in carried[one.id]}, own),
                *carried[one.id],
                *runs[one.id],
            ),
            one.origin == "donor" and one.donor_worked is None,
        )
        for one in pieces
    ]  # fmt: skip


# ---- queries: only the columns that the log needs --------------------------------------------------------


def _pieces(ids: Sequence[int]) -> list[Any]:
    query = (
        t.Piece.select(
            t.Piece.id, t.Piece.lot, t.Piece.matings, t.Piece.created, t.Part.kind, t.Part.rated_matings,
            t.Lot.origin, t.Lot.donor_worked, t.Lot.received,
        )
        .join(t.Part).switch(t.Piece).join(t.Lot).where(t.Piece.id << ids)
    )  # fmt: skip
    return list(query.namedtuples())


def _proofs(lots: Iterable[int], at: datetime) -> dict[int, list[Any]]:
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
    for one in rows:
        by_lot[one.lot].append(one)
    return by_lot


def _tested_loose(lots: Iterable[int], at: datetime) -> dict[int, list[Any]]:
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
    for one in rows:
        by_lot[one.lot].append(one)
    return by_lot


def _failed_readings(proof_ids: Sequence[int]) -> dict[int, str]:
    """Return by proof which readings failed, in words."""
    said: dict[int, list[str]] = defaultdict(list)
    for start in range(0, len(proof_ids), BATCH):
        some = proof_ids[start : start + BATCH]
        rows = t.Reading.select().where(t.Reading.proof << some, ~t.Reading.passed).order_by(t.Reading.position)
        for one in rows:
            said[one.proof_id].append(says_again(one))
    return {proof: "; ".join(texts) for proof, texts in said.items()}


def _loans(ids: Sequence[int]) -> dict[int, list[Any]]:
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
    for one in rows:
        by_piece[one.piece].append(one)
    return by_piece


def _carried(ids: Sequence[int]) -> dict[int, list[CarriedBack]]:
    """Return by piece what closed jobs said of it, in the order in which they closed.

    One that was opened again says nothing until it is closed anew: meanwhile each swap on it counts by itself.
    """
    query = (
        t.CarriedBack.select(
            t.CarriedBack.piece, t.CarriedBack.p_before, t.CarriedBack.p_after, t.Closing.at, t.Job.number,
        )
        .join(t.Closing).join(t.Job).where(t.CarriedBack.piece << ids, t.Job.closed.is_null(False))
        .order_by(t.Closing.at, t.Closing.id)
    )  # fmt: skip
    by_piece: dict[int, list[CarriedBack]] = defaultdict(list)
    rows: list[Any] = list(query.tuples())
    for piece, before, after, at, job in rows:
        by_piece[piece].append(CarriedBack(at, job, before, after))
    return by_piece


def _failed_runs(ids: Sequence[int]) -> dict[int, list[Exposure]]:
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


def _holds(lots: Iterable[int]) -> dict[int, list[Event]]:
    by_lot: dict[int, list[Event]] = defaultdict(list)
    for one in t.Hold.select().where(t.Hold.lot << list(lots)).order_by(t.Hold.at, t.Hold.id):
        by_lot[one.lot_id].append(LotHeld(one.at, one.reason))
        if one.ended is not None and not one.condemned:
            by_lot[one.lot_id].append(LotReleased(one.ended))
    return by_lot


# ---- rows into events ------------------------------------------------------------------------------------


def _origin(piece: Any, proofs_of_lot: Sequence[Any], tested_loose: Sequence[Any]) -> list[Event]:
    """Say where a piece came from, and what its lot showed since: the first proof of each other piece, and those
    without a label of their own that were tested when it came in.

    Only failures and the last pass make an event: passes in a row add up to the same.
    """
    if piece.origin == "donor":
        return [FromDonor(piece.received, bool(piece.donor_worked))]
    first = {one.piece: one for one in reversed(proofs_of_lot) if one.piece != piece.id}
    others = sorted([*first.values(), *tested_loose], key=lambda one: (one.at, one.id))
    events: list[Event] = [FromLot(piece.received)]
    bad = 0
    for tested, one in enumerate(others, start=1):
        bad += not one.passed
        if not one.passed or tested == len(others):
            events.append(FromLot(one.at, tested, bad))
    return events


def _proved(
    piece_id: int, proofs_of_lot: Sequence[Any], loans: Sequence[Any], failed: Mapping[int, str]
) -> list[Event]:
    """Return a piece's own proofs, but for those that stand for a loan's result, which says it already."""
    from_loans = {one.proof for one in loans}
    own = [one for one in proofs_of_lot if one.piece == piece_id and one.id not in from_loans]
    return [
        Proof(one.at, one.passed, one.sensitivity, one.specificity, _procedure(one), failed.get(one.id, ""))
        for one in own
    ]


def _procedure(proof: Any) -> str:
    return str(proof.procedure_name or f"a run in the unit of job {proof.job_number}")


def _lent(piece: Any, loans: Sequence[Any], carried: Container[str], own: Shop) -> list[Event]:
    """Return what each loan says: one more mating, and the result. Jobs in *carried* end by what they carried back.

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
        where = (one.job, one.suspect)
        events += _result(one, own, repeated=last.get(where) == one.result, carried=one.job_number in carried)
        last[where] = one.result
    return events


def _result(loan: Any, own: Shop, *, repeated: bool, carried: bool) -> list[Event]:
    if loan.result == "cannot tell":
        return []
    works = loan.result == "works with it"
    if repeated:
        return [] if works else [Exposure(loan.ended, 1, f"the same run again on job {loan.job_number}")]
    a = EVEN if loan.others_good is None else loan.others_good
    events: list[Event] = [SwapResult(loan.ended, works, a, own.mask, own.misread, loan.job_number)]
    if not works and not carried and loan.job_closed is not None and loan.job_closed >= loan.ended:
        events.append(JobClosed(loan.job_closed, loan.job_number))
    return events
