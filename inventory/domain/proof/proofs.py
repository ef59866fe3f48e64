"""Proving a piece: a bench test with readings against limits, or "it ran in this job's unit"."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from peewee import JOIN

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, invalid_field
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.shop import shop_config
from inventory.domain.common.validation import clean_text, get_row
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.piece_locations import piece_locations
from inventory.domain.proof.procedures import procedure, procedures
from inventory.domain.proof.proof_records import (
    ProcedureRecord,
    ProofRecord,
    ProofResult,
    ReadingRecord,
    ResolvedProcedure,
    StandingRecord,
)
from inventory.domain.proof.readings import (
    describe_reading,
    judge_readings,
    limits_for_part,
    missing_readings_error,
    stored_reading,
)
from inventory.domain.proof.standings import standing_of
from inventory.reckoning.proof.standing import chance_text
from inventory.store.connection import transaction
from inventory.store.tables import Job, Loan, Person, Piece, Procedure, Proof, ProofReading

RAN_IN_UNIT = "ran in the unit"
MAX_MINUTES = 10_000


def resolve_procedure(procedure_id: int, piece_id: int) -> ResolvedProcedure:
    """Return what a procedure asks of a piece: its checks with this part's limits, and what to mind.

    Raises Conflict when the procedure is not for such a piece, or the part lacks a rating it needs.
    """
    return resolve_procedure_for_part(procedure_id, _require_testable(piece_id).part)


def resolve_procedure_for_part(procedure_id: int, part: Any) -> ResolvedProcedure:
    """Return what a procedure asks of any one of a *part* (row), whether it has a label of its own or not."""
    record = _require_usable(procedure(procedure_id), part)
    return ResolvedProcedure(
        record, tuple(limits_for_part(check, part) for check in record.checks), cautions_for(part, record.hazards)
    )


def record_proof(
    piece_id: int, procedure_id: int, readings: Sequence[Mapping[str, Any]], *, instrument: str = "", note: str = "",
    job_id: int | None = None, minutes: float | None = None, by: int | None = None,
) -> ProofResult:  # fmt: skip
    """Note a test of a piece: one reading a check, each with *name*, *value* and (unless yes or no) *unit*.

    *minutes* that it took, from 0 to ``MAX_MINUTES``, if it was timed.

    Every reading is judged here. A test that passes has all of them; one that failed may stop at the reading
    that failed. Raises Invalid for what cannot be a reading, naming each.
    """
    with transaction():
        resolved = resolve_procedure(procedure_id, piece_id)
        judged = judge_readings(resolved.checks, readings)
        passed = all(reading.passed for reading in judged)
        if passed and len(judged) < len(resolved.checks):
            raise missing_readings_error(resolved.checks, judged)
        if job_id is not None:
            get_row(Job, job_id, "job")
        before = standing_of(piece_id)
        took = None if minutes is None else _validated_minutes(minutes)
        row = Proof.create(
            piece=piece_id, procedure=procedure_id, job=job_id, at=clock.now(), person=by, passed=passed,
            sensitivity=resolved.procedure.sensitivity, specificity=resolved.procedure.specificity,
            instrument=clean_text(instrument, "instrument", 120), note=clean_text(note, "note", 2000), minutes=took,
        )  # fmt: skip
        _store_readings(row, judged)
        return _proof_result(row, before)


def _validated_minutes(value: Any) -> float:
    """Return the minutes that a test took; raise Invalid for what no test takes."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= MAX_MINUTES:
        raise invalid_field(
            "minutes", f"A test takes from 0 to {MAX_MINUTES} minutes: type a number, or leave it out."
        )
    return float(value)


def record_run_in_unit(piece_id: int, job_id: int, *, note: str = "", by: int | None = None) -> ProofResult:
    """Note that a piece ran in a job's unit, and that the unit did what it should.

    Raises Conflict when that is noted of this piece and job already: the same run proves nothing twice.
    """
    with transaction():
        piece, job = get_row(Piece, piece_id, "piece"), get_row(Job, job_id, "job")
        if _find_run_proof(piece_id, job_id) is not None:
            raise Conflict(
                f"It is noted already that {piece.shown_as} ran in the unit of job {job.number}.",
                reason="noted_already",
            )
        before = standing_of(piece_id)
        return _proof_result(ensure_run_proof(piece_id, job_id, by, note), before)


def ensure_run_proof(piece_id: int, job_id: int, by: int | None, note: str = "") -> Proof:
    """Keep "it ran in this job's unit" as a proof, once a job; call it inside the transaction that decided so.

    P(seen working | bad) is the mask chance, P(seen failing | good) the misread chance of a run in a unit.
    """
    known: Proof | None = _find_run_proof(piece_id, job_id)
    if known is not None:
        return known
    config = shop_config()
    created: Proof = Proof.create(
        piece=piece_id, job=job_id, at=clock.now(), person=by, passed=True, sensitivity=1.0 - config.mask,
        specificity=1.0 - config.misread, note=clean_text(note, "note", 2000),
    )  # fmt: skip
    return created


def _find_run_proof(piece_id: int, job_id: int) -> Any:
    return Proof.get_or_none(
        Proof.piece == piece_id, Proof.job == job_id, Proof.procedure.is_null(), Proof.struck.is_null()
    )


def strike_proof(proof_id: int, *, reason: str, by: int | None = None) -> ProofRecord:
    """Strike a proof that was logged by mistake; it stays in the history with the *reason*."""
    with transaction():
        row = get_row(Proof, proof_id, "proof")
        why = clean_text(reason, "reason", 300, required=True)
        if Loan.select().where(Loan.proof == proof_id).exists():
            raise Conflict("This proof is the result of a swap test: take back that result.", reason="from_loan")
        strike_once(row, "proof", "struck", why, by)
        return proof(proof_id)


def strike_once(row: Any, what: str, struck: str, reason: str, by: int | None) -> None:
    """Strike a proof or an observation (row): it counts no longer. Raise Conflict when it was struck before."""
    table = type(row)
    changes = {"struck": clock.now(), "struck_by": by, "struck_reason": reason}
    if table.update(**changes).where(table.id == row.id, table.struck.is_null()).execute() != 1:
        raise Conflict(f"This {what} was {struck} already.", reason="struck_already")


def proof(proof_id: int) -> ProofRecord:
    """Return one proof with its readings."""
    get_row(Proof, proof_id, "proof")
    return _records(_with_names().where(Proof.id == proof_id))[0]


def proofs(
    *, piece_id: int | None = None, procedure_id: int | None = None, job_id: int | None = None,
    passed: bool | None = None, after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return proofs, newest first, struck ones too."""
    query = _with_names()
    for column, value in (
        (Proof.piece, piece_id), (Proof.procedure, procedure_id), (Proof.job, job_id), (Proof.passed, passed),
    ):  # fmt: skip
        if value is not None:
            query = query.where(column == value)
    page = paginate(query, Proof.id, after, limit, lambda row: row, descending=True)
    return ResultPage(_records(page.items), page.next)


def procedures_for_piece(piece_id: int) -> list[ProcedureRecord]:
    """Return the procedures that may prove a piece, those for its very part first."""
    return procedures(part_id=get_row(Piece, piece_id, "piece").part_id)


# ---- checks ----------------------------------------------------------------------------------------------


def _require_testable(piece_id: int) -> Piece:
    piece = get_row(Piece, piece_id, "piece")
    if piece.bin_id is None:
        raise Conflict(
            f"Piece {piece.shown_as} is not here to be tested "
            f"({piece_locations([piece])[piece.id].words}): "
            "scan the label on the piece in your hand.",
            reason="piece_gone",
        )
    return piece


def _require_usable(record: ProcedureRecord, part: Any) -> ProcedureRecord:
    if record.retired:
        raise Conflict(f"This edition of {record.name} is not in use: choose a newer one.", reason="retired")
    if record.part_id not in (None, part.id) or record.kind not in ("", part.kind):
        raise Conflict(f"{record.name} is not for {part.name}: choose a procedure for it.", reason="other_procedure")
    return record


def _store_readings(row: Proof, readings: Sequence[ReadingRecord]) -> None:
    for reading in readings:
        ProofReading.create(proof=row.id, **stored_reading(reading))


# ---- records ---------------------------------------------------------------------------------------------


def _proof_result(row: Proof, before: StandingRecord) -> ProofResult:
    record, after = proof(row.id), standing_of(row.piece_id)
    name = row.piece.shown_as
    return ProofResult(record, f"{name} {describe_proof(record)} It is {_describe_standing(after)}.", before, after)


def describe_proof(record: ProofRecord) -> str:
    """Say what a proof showed: "passed Fan bench run.", "failed it: current 0.21 A is above 0.2 A."."""
    if record.procedure_id is None:
        return f"{RAN_IN_UNIT} of job {record.job_number}."
    if record.passed:
        return f"passed {record.procedure}."
    return f"failed {record.procedure}: {record.failed_reading}."


def _describe_standing(standing: StandingRecord) -> str:
    until = f", until {standing.valid_until}" if standing.valid_until else ""
    return f"{standing.word} ({chance_text(standing.p_good)} good{until})"


_Striker = Person.alias()


def _with_names() -> Any:
    return (
        Proof.select(Proof, Procedure, Job, Person, _Striker)
        .join(Procedure, JOIN.LEFT_OUTER).switch(Proof).join(Job, JOIN.LEFT_OUTER).switch(Proof)
        .join(Person, JOIN.LEFT_OUTER, on=(Proof.person == Person.id)).switch(Proof)
        .join(_Striker, JOIN.LEFT_OUTER, on=(Proof.struck_by == _Striker.id), attr="striker")
    )  # fmt: skip


def _records(rows: Iterable[Any]) -> list[ProofRecord]:
    proof_rows = list(rows)
    readings: dict[int, list[ReadingRecord]] = {row.id: [] for row in proof_rows}
    for proof_reading in (
        ProofReading.select().where(ProofReading.proof << list(readings)).order_by(ProofReading.position)
    ):
        readings[proof_reading.proof_id].append(
            from_row(ReadingRecord, proof_reading, says=describe_reading(proof_reading))
        )
    return [_record(row, tuple(readings[row.id])) for row in proof_rows]


def _record(row: Any, readings: tuple[ReadingRecord, ...]) -> ProofRecord:
    return from_row(
        ProofRecord, row,
        procedure=row.procedure.name if row.procedure_id else RAN_IN_UNIT,
        edition=row.procedure.edition if row.procedure_id else None,
        job_number=row.job.number if row.job_id else "",
        person=row.person.shown_as if row.person_id else "",
        struck_by=row.striker.shown_as if row.struck_by_id else "", readings=readings,
    )  # fmt: skip
