"""What was seen on a job, in the order seen: the complaint, swap tests, observations, bench tests of its spares.

Reads only. Nothing here weighs anything: ``job_case`` turns the log into a case for the reckoning.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import JOIN

from inventory.domain.common import clock
from inventory.domain.proof.loans import CANCELLED
from inventory.store.tables import Evidence, EvidenceSpare, Job, Loan, Lot, Person, Piece, Procedure, Proof, Suspect

COMPLAINT, SWAP_TEST, BENCH_TEST = "complaint", "swap test", "bench test"


@dataclass(frozen=True)
class LogEntry:
    """One row of the log; ``row`` is the job, a loan, an observation or a proof, read with its names."""

    at: datetime
    kind: str
    row: Any
    person: str = ""
    loans: tuple[Any, ...] = ()  # that were fitted during a run


def log_entries(job: Job, until: datetime | None = None) -> list[LogEntry]:
    """Return the log of a job up to a moment (default now), oldest first, including struck observations."""
    loans = _loans(job.id)
    entries = [
        LogEntry(job.opened, COMPLAINT, job),
        *_swap_entries(loans),
        *_observation_entries(job.id, loans),
        *_proof_entries(job, loans),
    ]
    end = until or clock.now()
    return sorted((entry for entry in entries if entry.at <= end), key=lambda entry: entry.at)


def observation_entry(evidence_id: int) -> LogEntry:
    """Return one observation, read with its names."""
    row = _evidence_with_names().where(Evidence.id == evidence_id).get()
    return next(iter(_evidence_entries([row], _loans(row.job_id))))


def preview_loan_end(loan_id: int, result: str) -> LogEntry:
    """Return the entry of an open loan if it ended now with *result*. Nothing is written."""
    loan = _loans(Loan.get_by_id(loan_id).job_id)[loan_id]
    loan.result, loan.ended = result, clock.now()
    return LogEntry(loan.ended, SWAP_TEST, loan)


def _loans(job_id: int) -> dict[int, Any]:
    """Return the loans of a job that were not cancelled, by id, those still out too."""
    ender = Person.alias()
    query = (
        Loan.select(Loan, Piece, Suspect, ender)
        .join(Piece).switch(Loan).join(Suspect, JOIN.LEFT_OUTER).switch(Loan)
        .join(ender, JOIN.LEFT_OUTER, on=(Loan.ended_by == ender.id), attr="ender")
        .where(Loan.job == job_id, Loan.result != CANCELLED).order_by(Loan.id)
    )  # fmt: skip
    return {loan.id: loan for loan in query}


def _swap_entries(loans: dict[int, Any]) -> Iterable[LogEntry]:
    for loan in loans.values():
        if loan.ended is not None:
            yield LogEntry(loan.ended, SWAP_TEST, loan, loan.ender.shown_as if loan.ended_by_id else "")


def _evidence_with_names() -> Any:
    striker = Person.alias()
    return (
        Evidence.select(Evidence, Suspect, Person, Lot, striker)
        .join(Suspect, JOIN.LEFT_OUTER).switch(Evidence)
        .join(Person, JOIN.LEFT_OUTER, on=(Evidence.person == Person.id)).switch(Evidence)
        .join(Lot, JOIN.LEFT_OUTER).switch(Evidence)
        .join(striker, JOIN.LEFT_OUTER, on=(Evidence.struck_by == striker.id), attr="striker")
        .order_by(Evidence.at, Evidence.id)
    )  # fmt: skip


def _observation_entries(job_id: int, loans: dict[int, Any]) -> Iterable[LogEntry]:
    return _evidence_entries(list(_evidence_with_names().where(Evidence.job == job_id)), loans)


def _evidence_entries(rows: list[Any], loans: dict[int, Any]) -> Iterable[LogEntry]:
    fitted: dict[int, list[Any]] = {row.id: [] for row in rows}
    for link in EvidenceSpare.select().where(EvidenceSpare.evidence << list(fitted)).order_by(EvidenceSpare.loan):
        if link.loan_id in loans:
            fitted[link.evidence_id].append(loans[link.loan_id])
    for row in rows:
        yield LogEntry(row.at, row.kind, row, row.person.shown_as if row.person_id else "", tuple(fitted[row.id]))


def _proof_entries(job: Any, loans: dict[int, Any]) -> Iterable[LogEntry]:
    """Yield the bench tests of the job's spares from their first loan until the job was closed."""
    since: dict[int, datetime] = {}
    for row in loans.values():
        since.setdefault(row.piece_id, row.taken)
    query = (
        Proof.select(Proof, Piece, Procedure, Person)
        .join(Piece).switch(Proof).join(Procedure).switch(Proof)
        .join(Person, JOIN.LEFT_OUTER, on=(Proof.person == Person.id))
        .where(Proof.piece << list(since), Proof.struck.is_null())
    )  # fmt: skip
    rows: list[Any] = list(query)
    for row in rows:
        if since[row.piece_id] < row.at and (job.closed is None or row.at <= job.closed):
            yield LogEntry(row.at, BENCH_TEST, row, row.person.shown_as if row.person_id else "")
