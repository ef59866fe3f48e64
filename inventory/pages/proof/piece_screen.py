"""At a piece: how far it can be trusted and why, proving it, lending it, bringing it back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.domain.catalogue.resolve import bin_meant
from inventory.domain.common.errors import Conflict, Refused
from inventory.domain.common.records import Done, JobRecord, SuspectRecord
from inventory.domain.diagnosis import swap_tests
from inventory.domain.diagnosis.diagnosis_records import Moved
from inventory.domain.jobs import jobs, people
from inventory.domain.movements.pull import pull_piece
from inventory.domain.proof import proofs
from inventory.domain.proof.cautions import cautions_of
from inventory.domain.proof.loans import loan, loans
from inventory.domain.proof.pieces import piece
from inventory.domain.proof.proof_records import (
    Asked,
    CautionRecord,
    Lent,
    LoanRecord,
    Moment,
    PieceSeen,
    ProcedureRecord,
    Proved,
    Returned,
)
from inventory.domain.proof.readings import as_typed
from inventory.domain.proof.timeline import timeline
from inventory.pages.diagnosis.diagnosis_screen import moved_by_loan
from inventory.store.connection import writing

MOST_JOBS = 60


@dataclass(frozen=True)
class AtPiece:
    """A piece as the person who holds it wants to see it."""

    seen: PieceSeen
    cautions: tuple[CautionRecord, ...]
    procedures: tuple[ProcedureRecord, ...]
    history: tuple[Moment, ...]
    loan: LoanRecord | None  # while it is out
    ended: LoanRecord | None  # the last one that ended with a result
    moved: tuple[Moved, ...]  # what that did to the chances of its job
    jobs: tuple[JobRecord, ...]  # that it may be taken for
    suspects: tuple[SuspectRecord, ...]  # of the job in hand
    likely: int | None  # the suspect that it is most likely wanted for


def at_piece(piece_id: int, job_in_hand: int | None = None) -> AtPiece:
    """Gather everything about a piece, and what it may be taken for."""
    seen = piece(piece_id)
    lent = list(loans(piece_id=piece_id, limit=20).items)
    here = seen.where.state == "in bin"
    suspects = tuple(jobs.suspects(job_in_hand)) if here and job_in_hand is not None else ()
    ended = next((one for one in lent if one.ended is not None and one.result != swap_tests.CANCELLED), None)
    return AtPiece(
        seen,
        cautions_of(seen.part),
        tuple(proofs.procedures_for(piece_id)),
        tuple(timeline(piece_id)),
        next((one for one in lent if one.ended is None), None),
        ended,
        moved_by_loan(ended.job_id, ended.id) if ended else (),
        tuple(jobs.jobs(status="not closed", limit=MOST_JOBS).items) if here else (),
        suspects,
        _likely(suspects, seen.part.id),
    )


def _likely(suspects: Sequence[SuspectRecord], part_id: int) -> int | None:
    """Return the one open suspect that is this very part, or the only suspect there is; None when unsure."""
    open_ones = [one for one in suspects if not one.verdict]
    same = [one for one in open_ones if one.part_id == part_id] or open_ones
    return same[0].id if len(same) == 1 else None


@dataclass(frozen=True)
class AtProof:
    """The form on which a piece is proved: the piece, and what the chosen procedure asks (None: choose one)."""

    seen: PieceSeen
    procedures: tuple[ProcedureRecord, ...]
    asked: Asked | None
    cannot: str  # why the chosen procedure cannot be used


def at_proof(piece_id: int, procedure_id: int | None = None) -> AtProof:
    """Gather what proving a piece asks for; the only procedure there is needs no choosing."""
    seen, fitting = piece(piece_id), tuple(proofs.procedures_for(piece_id))
    chosen = fitting[0].id if procedure_id is None and len(fitting) == 1 else procedure_id
    if chosen is None:
        return AtProof(seen, fitting, None, "")
    try:
        return AtProof(seen, fitting, proofs.asked(chosen, piece_id), "")
    except Refused as refused:
        return AtProof(seen, fitting, None, refused.sentence)


def prove_as_typed(
    piece_id: int, procedure_id: int, typed: Mapping[int, str], *, by: int, instrument: str = "", note: str = "",
    job_id: int | None = None, minutes: float | None = None,
) -> Proved:  # fmt: skip
    """Note a test whose readings were typed by position, each a number with or without its unit; blank: not read."""
    with writing():
        checks = proofs.asked(procedure_id, piece_id).checks
        return proofs.prove(
            piece_id, procedure_id, as_typed(checks, typed), instrument=instrument, note=note, job_id=job_id,
            minutes=minutes, by=by,
        )  # fmt: skip


def take(
    piece_id: int, job_id: int, *, by: int, suspect_id: int | None = None, suspect_name: str = "",
    take_in_hand: bool = False, hours: int = swap_tests.HOURS, hold_ok: bool = False,
) -> Lent:  # fmt: skip
    """Take a piece out for a swap test in place of a suspect of the job, known or *suspect_name* named just now."""
    with writing():
        if take_in_hand:
            people.take_in_hand(by, job_id)
        if suspect_name.strip():
            suspect_id = jobs.add_suspect(job_id, suspect_name).id
        return swap_tests.take(piece_id, job_id, suspect_id=suspect_id, by=by, hours=hours, hold_ok=hold_ok)


def fit(piece_id: int, job_id: int, *, by: int, take_in_hand: bool = False, one_off: bool = False) -> Done:
    """Pull a piece for a job, to stay in its unit; the job becomes the one in hand when it was chosen just now."""
    with writing():
        if take_in_hand:
            people.take_in_hand(by, job_id)
        return pull_piece(piece_id, job_id=job_id, by=by, one_off=one_off)


def end(
    piece_id: int, loan_id: int, result: str, *, by: int, stays: bool = False, bin_typed: str = "", note: str = ""
) -> Returned:  # fmt: skip
    """End a swap test with its result; the piece *stays* fitted, or goes into its bin or the one scanned."""
    with writing():
        _is_of(piece_id, loan_id)
        if stays:
            return swap_tests.leave_fitted(loan_id, result, by=by, note=note)
        into = bin_meant(bin_typed).id if bin_typed.strip() else None
        return swap_tests.bring_back(loan_id, result, bin_id=into, by=by, note=note)


def stay(piece_id: int, loan_id: int, *, by: int) -> Returned:
    """Let a piece that was brought back after "works with it" stay in the unit after all."""
    _is_of(piece_id, loan_id)
    return swap_tests.stay_after_all(loan_id, by=by)


def never_fitted(piece_id: int, loan_id: int, *, by: int) -> LoanRecord:
    """Undo a taking by mistake: the piece is in its bin as if nothing had been."""
    _is_of(piece_id, loan_id)
    return swap_tests.cancel(loan_id, reason="taken by mistake", by=by)


def take_back_result(piece_id: int, loan_id: int, *, by: int) -> LoanRecord:
    """Take back a result that was tapped wrongly; the piece is out to its job again."""
    _is_of(piece_id, loan_id)
    return swap_tests.reopen(loan_id, reason="tapped wrongly", by=by)


def _is_of(piece_id: int, loan_id: int) -> None:
    if loan(loan_id).piece_id != piece_id:
        raise Conflict("That swap test is another piece's: scan the label on the piece in your hand.")
