"""Lending a piece to a job for a swap test, and ending the loan: back in a bin, or it stays fitted.

A piece that is out keeps its bin as its home; it moves in the ledger only if it comes back into another bin or
stays fitted. A result that was tapped wrongly can be taken back; nothing is ever deleted.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, invalid_field
from inventory.domain.common.validation import clean_text, get_row, validated_choice
from inventory.domain.diagnosis import diagnose
from inventory.domain.diagnosis.diagnose import suspect_of_job
from inventory.domain.jobs.jobs import get_open_job
from inventory.domain.movements.adjustments import move
from inventory.domain.movements.pull import get_available_piece, on_hold_error, pull_piece
from inventory.domain.movements.undo import undo
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.loans import CANCELLED, SWAP_RESULTS, WORKS_WITH_IT, loan
from inventory.domain.proof.piece_locations import piece_locations
from inventory.domain.proof.procedures import validated_chance
from inventory.domain.proof.proof_records import LoanEnded, LoanRecord, LoanStarted, StandingRecord
from inventory.domain.proof.proofs import ensure_run_proof, proof, strike_once
from inventory.domain.proof.standings import standing_of
from inventory.reckoning.proof.standing import chance_text
from inventory.store import ledger
from inventory.store.tables import Loan, Movement, PartFit, Piece, Substitute, Suspect

DEFAULT_LOAN_HOURS, MAX_LOAN_HOURS = 48, 24 * 365


def take_piece(
    piece_id: int,
    job_id: int,
    *,
    suspect_id: int | None = None,
    by: int | None = None,
    hours: int = DEFAULT_LOAN_HOURS,
    hold_ok: bool = False,
    note: str = "",
) -> LoanStarted:
    """Take a piece out to a job for a swap test, in place of a suspect; it is due back after *hours*.

    Its P(good) and standing are stored with the loan. A piece that is not proved may be taken: ``warnings`` say
    what it is worth. Raises Conflict when it is out or gone, its lot is on hold (unless *hold_ok*), or the
    job is closed.
    """
    with ledger.ledger_transaction():
        job = get_open_job(job_id)
        suspect = None if suspect_id is None else suspect_of_job(job, suspect_id)
        piece = get_available_piece(piece_id)
        if piece.lot.on_hold and not hold_ok:
            raise on_hold_error(piece.lot)
        standing = standing_of(piece_id)
        row = Loan.create(
            piece=piece_id, job=job_id, suspect=suspect_id, bin=piece.bin_id, p_good=standing.p_good,
            standing=standing.word, taken=clock.now(), taken_by=by, due=clock.now() + _loan_period(hours),
            note=clean_text(note, "note", 1000),
        )  # fmt: skip
        record = loan(row.id)
    place = f" in place of {record.suspect}" if record.suspect else ""
    sentence = f"{record.shown_as} is out with job {job.number}{place}, due back {record.due:%d %b at %H:%M} UTC."
    return LoanStarted(
        record, sentence, standing, tuple(_warnings(piece, job, suspect, standing)), cautions_for(piece.part)
    )


def bring_back_piece(
    loan_id: int, result: str, *, bin_id: int | None = None, by: int | None = None, note: str = "",
    others_good: float | None = None,
) -> LoanEnded:  # fmt: skip
    """End a loan with a *result* of ``SWAP_RESULTS`` and put the piece into a bin (default: the one it came from).

    *others_good* is the chance that all else in the unit was good; left out, it is worked out from the job's log.
    Raises Conflict when the loan has ended already.
    """
    with ledger.ledger_transaction():
        ended, before = _end_loan(loan_id, result, by, note, others_good, stayed=False)
        home = ended.bin_id if bin_id is None else bin_id
        entry = None
        if home != get_row(Piece, ended.piece_id, "piece").bin_id:
            entry = move(home, piece_id=ended.piece_id, by=by, reason=f"back from job {ended.job_number}").entry
        return _loan_ended(ended, before, entry)


def leave_piece_fitted(
    loan_id: int, result: str = WORKS_WITH_IT, *, by: int | None = None, note: str = "",
    others_good: float | None = None,
) -> LoanEnded:  # fmt: skip
    """End a loan with the piece staying in the unit: it is pulled for the job, which bears its cost.

    Raises Conflict when the loan has ended already, or its lot is on hold.
    """
    with ledger.ledger_transaction():
        ended, before = _end_loan(loan_id, result, by, note, others_good, stayed=True)
        why = "stayed fitted after a swap test"
        entry = pull_piece(ended.piece_id, job_id=ended.job_id, by=by, reason=why).entry
        return _loan_ended(ended, before, entry, tuple(_last_spare_warning(get_row(Piece, ended.piece_id, "piece"))))


def refit_returned_piece(loan_id: int, *, by: int | None = None) -> LoanEnded:
    """Let a piece that was brought back after "works with it" stay in the unit: out again, and fitted for good.

    Raises Conflict when the loan is still out or did not end so, or the piece is not in a bin any more.
    """
    with ledger.ledger_transaction():
        row = get_row(Loan, loan_id, "loan")
        name = row.piece.shown_as
        if row.ended is None:
            raise Conflict(f"{name} is still out: tap what the unit does, and that it stays.", reason="loan_open")
        if row.result != WORKS_WITH_IT or row.stayed:
            raise Conflict(
                f"{name} cannot stay after this swap test: that takes one that the unit worked with and that came "
                "back. Take it out again and tap what the unit does.", reason="no_such_result",
            )  # fmt: skip
        started = take_piece(row.piece_id, row.job_id, suspect_id=row.suspect_id, by=by, note="It stays after all.")
        return leave_piece_fitted(started.loan.id, by=by)


def cancel_loan(loan_id: int, *, reason: str, by: int | None = None) -> LoanRecord:
    """Undo taking a piece that is still out (scanned by mistake, never fitted): it is in its bin again."""
    with ledger.ledger_transaction():
        row = get_row(Loan, loan_id, "loan")
        why = clean_text(reason, "reason", 300, required=True)
        _write_loan_end(row, result=CANCELLED, ended_by=by, note=_append_note(row.note, f"Cancelled: {why}"))
        return loan(loan_id)


def reopen_loan(loan_id: int, *, reason: str, by: int | None = None) -> LoanRecord:
    """Take back the result of a loan (tapped wrongly): the piece counts as out to its job again.

    A proof that followed from it is struck, a pull that did is undone. Raises Conflict when the loan is out or
    was cancelled, the job is closed, or the piece has moved on since.
    """
    with ledger.ledger_transaction():
        row = get_row(Loan, loan_id, "loan")
        why = clean_text(reason, "reason", 300, required=True)
        if row.ended is None or row.result == CANCELLED:
            raise Conflict("This loan has no result to take back.", reason="no_result")
        get_open_job(row.job_id)
        _require_back_in_bin(row, by)
        note = _append_note(row.note, f"Took back {row.result!r}: {why}")
        _strike_loan_proof(row, why, by)
        Piece.update(matings=Piece.matings - 1).where(Piece.id == row.piece_id).execute()
        Loan.update(
            ended=None, ended_by=None, result="", stayed=False, others_good=None, proof=None, note=note
        ).where(Loan.id == loan_id).execute()
        return loan(loan_id)


# ---- taking ----------------------------------------------------------------------------------------------


def _loan_period(hours: Any) -> timedelta:
    if isinstance(hours, bool) or not isinstance(hours, int) or not 1 <= hours <= MAX_LOAN_HOURS:
        raise invalid_field("hours", f"A piece is lent for 1 to {MAX_LOAN_HOURS} hours: type a whole number.")
    return timedelta(hours=hours)


def _warnings(piece: Piece, job: Any, suspect: Suspect | None, standing: StandingRecord) -> Iterable[str]:
    """Yield what speaks against relying on this piece in this unit."""
    if standing.word != "proved":
        good = chance_text(standing.p_good)
        yield f"{piece.shown_as} is {standing.word} ({good} good). {standing.why} {standing.worth}"
    if piece.lot.on_hold:
        yield f"Its lot {piece.lot.code} is on hold: it may not stay fitted."
    if suspect is not None and suspect.part_id is not None:
        yield from _other_part_warnings(piece, suspect)
    elif job.unit_model_id and not _is_known_to_fit(piece, job):
        yield f"{piece.part.name} is not noted as fitting the {job.unit_model.name}: compare plug, pins and ratings."


def _other_part_warnings(piece: Piece, suspect: Any) -> Iterable[str]:
    if suspect.part_id == piece.part_id:
        return
    known = Substitute.get_or_none(Substitute.part == suspect.part_id, Substitute.instead == piece.part_id)
    if known is None:
        yield f"This is {piece.part.name}, the suspect is {suspect.part.name}: compare plug, pins and ratings."
    elif known.differs:
        yield f"It stands in for {suspect.part.name}, and differs: {known.differs}."


def _is_known_to_fit(piece: Piece, job: Any) -> bool:
    fits = PartFit.select().where(PartFit.part == piece.part_id, PartFit.unit_model == job.unit_model_id)
    return bool(fits.exists())


# ---- ending ----------------------------------------------------------------------------------------------


def _end_loan(
    loan_id: int, result: str, by: int | None, note: str, others_good: float | None, *, stayed: bool
) -> tuple[LoanRecord, StandingRecord]:
    """Write the end of a loan: its result, one more mating, and the proof if the unit worked with it.

    Return the loan, and the standing of its piece before.
    """
    row = get_row(Loan, loan_id, "loan")
    result_ = validated_choice(result, "result", SWAP_RESULTS)
    before = standing_of(row.piece_id)
    if others_good is None:
        p_others = _others_good_or_default(row, result_)
    else:
        p_others = validated_chance(others_good, "others_good", "The chance that all else was good")
    clean_note = clean_text(note, "note", 1000)
    _write_loan_end(
        row, result=result_, ended_by=by, stayed=stayed, others_good=p_others,
        note=_append_note(row.note, clean_note) if clean_note else row.note,
    )  # fmt: skip
    Piece.update(matings=Piece.matings + 1).where(Piece.id == row.piece_id).execute()
    if result_ == WORKS_WITH_IT:
        proof_row = ensure_run_proof(row.piece_id, row.job_id, by)
        Loan.update(proof=proof_row.id).where(Loan.id == loan_id).execute()
    return loan(loan_id), before


def _write_loan_end(row: Loan, **what: Any) -> None:
    updated = Loan.update(ended=clock.now(), **what).where(Loan.id == row.id, Loan.ended.is_null()).execute()
    if updated != 1:
        name = row.piece.shown_as
        raise Conflict(
            f"The swap test of {name} on job {row.job.number} has ended already ({row.result}): "
            "scan the piece to see where it is.",
            reason="loan_ended",
        )


def _others_good_or_default(row: Loan, result: str) -> float:
    """Return the chance that all else was good: by the job's log, if that can be weighed.

    Else: one fault, equally likely to be this suspect, any other suspect of the job not yet cleared, or
    something not on the list (assumed).
    """
    p_others = diagnose.others_good(row.id, result)
    if p_others is not None:
        return p_others
    others = Suspect.select().where(Suspect.job == row.job_id, Suspect.verdict == "")
    if row.suspect_id is not None:
        others = others.where(Suspect.id != row.suspect_id)
    return 1.0 / (others.count() + 2)


def _append_note(note: str, more: str) -> str:
    return f"{note}\n{more}".strip()


def _loan_ended(
    ended: LoanRecord, before: StandingRecord, entry: int | None, warnings: tuple[str, ...] = ()
) -> LoanEnded:
    """Return how a loan ended, once the piece is in its bin or fitted."""
    after = standing_of(ended.piece_id)
    place = piece_locations([get_row(Piece, ended.piece_id, "piece")])[ended.piece_id].bin_name
    where = "stays fitted" if ended.stayed else f"is back in {place}"
    sentence = (
        f"Job {ended.job_number}: {ended.result}. {ended.shown_as} {where}; "
        f"it is {after.word} ({_describe_change(before.p_good, after.p_good)})."
    )
    proof_record = proof(ended.proof_id) if ended.proof_id is not None else None
    return LoanEnded(ended, sentence, before, after, proof_record, entry, warnings)


def _describe_change(before: float, after: float) -> str:
    """Say how the chance of being good went: "97.4 % good before, 99.1 % now"."""
    if chance_text(before) == chance_text(after):
        return f"{chance_text(after)} good, as before"
    return f"{chance_text(before)} good before, {chance_text(after)} now"


def _last_spare_warning(piece: Piece) -> Iterable[str]:
    left = Piece.select().where(Piece.part == piece.part_id, Piece.spare, Piece.bin.is_null(False))
    if piece.spare and not left.exists():
        yield f"That was the last spare of {piece.part.name}: keep another one to test with."


# ---- taking back a result --------------------------------------------------------------------------------


def _require_back_in_bin(row: Loan, by: int | None) -> None:
    """Undo the pull of a piece that stayed fitted; raise Conflict unless it is then in a bin and not lent."""
    if row.stayed and row.piece.bin_id is None:
        last = row.piece.movements.order_by(Movement.id.desc()).first()
        if last.kind == "pull" and last.job_id == row.job_id:
            undo(last.entry, by=by, reason="the swap test has not ended")
    get_available_piece(row.piece_id)


def _strike_loan_proof(row: Loan, reason: str, by: int | None) -> None:
    """Strike the proof recorded from a loan, unless another loan led to the same proof."""
    others = Loan.select().where(Loan.proof == row.proof_id, Loan.id != row.id)
    if row.proof_id is not None and not others.exists():
        strike_once(row.proof, "proof", "struck", reason, by)
