"""At a piece: how far it can be trusted and why, proving it, lending it, bringing it back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.domain.catalogue.resolve import resolve_bin
from inventory.domain.common.atomic import atomic
from inventory.domain.common.errors import Conflict, DomainError
from inventory.domain.common.records import ActionResult, JobRecord, SuspectRecord
from inventory.domain.diagnosis import swap_tests
from inventory.domain.diagnosis.diagnosis_records import ChanceChange
from inventory.domain.jobs import jobs, people
from inventory.domain.movements.pull import pull_piece
from inventory.domain.proof import proofs
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.loans import CANCELLED, loan, loans
from inventory.domain.proof.pieces import piece
from inventory.domain.proof.proof_records import (
    CautionRecord,
    LoanEnded,
    LoanRecord,
    LoanStarted,
    PieceStatus,
    ProcedureRecord,
    ProofResult,
    ResolvedProcedure,
    TimelineEntry,
)
from inventory.domain.proof.readings import parse_typed_readings
from inventory.domain.proof.timeline import piece_timeline
from inventory.pages.diagnosis.diagnosis_screen import changes_from_loan

MAX_JOBS = 60


@dataclass(frozen=True)
class PieceScreen:
    """A piece as the person who holds it wants to see it."""

    status: PieceStatus
    cautions: tuple[CautionRecord, ...]
    procedures: tuple[ProcedureRecord, ...]
    history: tuple[TimelineEntry, ...]
    loan: LoanRecord | None  # while it is out
    ended: LoanRecord | None  # the last one that ended with a result
    moved: tuple[ChanceChange, ...]  # what that did to the chances of its job
    jobs: tuple[JobRecord, ...]  # that it may be taken for
    suspects: tuple[SuspectRecord, ...]  # of the job in hand
    likely: int | None  # the suspect that it is most likely wanted for


def piece_screen(piece_id: int, job_in_hand: int | None = None) -> PieceScreen:
    """Gather everything about a piece, and what it may be taken for."""
    status = piece(piece_id)
    all_loans = list(loans(piece_id=piece_id, limit=20).items)
    here = status.where.state == "in bin"
    suspects = tuple(jobs.suspects(job_in_hand)) if here and job_in_hand is not None else ()
    ended = next((item for item in all_loans if item.ended is not None and item.result != CANCELLED), None)
    return PieceScreen(
        status,
        cautions_for(status.part),
        tuple(proofs.procedures_for_piece(piece_id)),
        tuple(piece_timeline(piece_id)),
        next((item for item in all_loans if item.ended is None), None),
        ended,
        changes_from_loan(ended.job_id, ended.id) if ended else (),
        tuple(jobs.jobs(status="not closed", limit=MAX_JOBS).items) if here else (),
        suspects,
        _likely_suspect(suspects, status.part.id),
    )


def _likely_suspect(suspects: Sequence[SuspectRecord], part_id: int) -> int | None:
    """Return the one open suspect that is this very part, or the only suspect there is; None when unsure."""
    open_ones = [suspect for suspect in suspects if not suspect.verdict]
    same = [suspect for suspect in open_ones if suspect.part_id == part_id] or open_ones
    return same[0].id if len(same) == 1 else None


@dataclass(frozen=True)
class ProofScreen:
    """The form on which a piece is proved: the piece, and what the chosen procedure asks (None: choose one)."""

    status: PieceStatus
    procedures: tuple[ProcedureRecord, ...]
    resolved: ResolvedProcedure | None
    cannot: str  # why the chosen procedure cannot be used


def proof_screen(piece_id: int, procedure_id: int | None = None) -> ProofScreen:
    """Gather what proving a piece asks for; the only procedure there is needs no choosing."""
    status, fitting = piece(piece_id), tuple(proofs.procedures_for_piece(piece_id))
    chosen = fitting[0].id if procedure_id is None and len(fitting) == 1 else procedure_id
    if chosen is None:
        return ProofScreen(status, fitting, None, "")
    try:
        return ProofScreen(status, fitting, proofs.resolve_procedure(chosen, piece_id), "")
    except DomainError as refused:
        return ProofScreen(status, fitting, None, refused.sentence)


def record_proof_from_form(
    piece_id: int, procedure_id: int, texts: Mapping[int, str], *, by: int, instrument: str = "", note: str = "",
    job_id: int | None = None, minutes: float | None = None,
) -> ProofResult:  # fmt: skip
    """Note a test whose readings were typed by position, each a number with or without its unit; blank: not read."""
    with atomic():
        checks = proofs.resolve_procedure(procedure_id, piece_id).checks
        return proofs.record_proof(
            piece_id,
            procedure_id,
            parse_typed_readings(checks, texts),
            instrument=instrument,
            note=note,
            job_id=job_id,
            minutes=minutes,
            by=by,
        )


def take_for_swap_test(
    piece_id: int, job_id: int, *, by: int, suspect_id: int | None = None, suspect_name: str = "",
    take_in_hand: bool = False, hours: int = swap_tests.DEFAULT_LOAN_HOURS, hold_ok: bool = False,
) -> LoanStarted:  # fmt: skip
    """Take a piece out for a swap test in place of a known suspect, or of a new one called *suspect_name*."""
    with atomic():
        if take_in_hand:
            people.set_job_in_hand(by, job_id)
        if suspect_name.strip():
            suspect_id = jobs.add_suspect(job_id, suspect_name).id
        return swap_tests.take_piece(piece_id, job_id, suspect_id=suspect_id, by=by, hours=hours, hold_ok=hold_ok)


def fit_piece(
    piece_id: int, job_id: int, *, by: int, take_in_hand: bool = False, one_off: bool = False
) -> ActionResult:
    """Pull a piece for a job, to stay in its unit; the job becomes the one in hand when it was chosen just now."""
    with atomic():
        if take_in_hand:
            people.set_job_in_hand(by, job_id)
        return pull_piece(piece_id, job_id=job_id, by=by, one_off=one_off)


def end_swap_test(
    piece_id: int, loan_id: int, result: str, *, by: int, stays: bool = False, bin_text: str = "", note: str = ""
) -> LoanEnded:  # fmt: skip
    """End a swap test with its result; the piece *stays* fitted, or goes into its bin or the one scanned."""
    with atomic():
        _require_loan_of_piece(piece_id, loan_id)
        if stays:
            return swap_tests.leave_piece_fitted(loan_id, result, by=by, note=note)
        bin_id = resolve_bin(bin_text).id if bin_text.strip() else None
        return swap_tests.bring_back_piece(loan_id, result, bin_id=bin_id, by=by, note=note)


def keep_fitted(piece_id: int, loan_id: int, *, by: int) -> LoanEnded:
    """Fit a piece that was brought back after "works with it" for good."""
    _require_loan_of_piece(piece_id, loan_id)
    return swap_tests.refit_returned_piece(loan_id, by=by)


def cancel_swap_test(piece_id: int, loan_id: int, *, by: int) -> LoanRecord:
    """Cancel a loan made by mistake: the piece is in its bin again."""
    _require_loan_of_piece(piece_id, loan_id)
    return swap_tests.cancel_loan(loan_id, reason="taken by mistake", by=by)


def reopen_swap_test(piece_id: int, loan_id: int, *, by: int) -> LoanRecord:
    """Retract a wrong result: the piece is out to its job again."""
    _require_loan_of_piece(piece_id, loan_id)
    return swap_tests.reopen_loan(loan_id, reason="tapped wrongly", by=by)


def _require_loan_of_piece(piece_id: int, loan_id: int) -> None:
    if loan(loan_id).piece_id != piece_id:
        raise Conflict("That swap test is another piece's: scan the label on the piece in your hand.")
