"""Logging observations of the suspects of a job. A mistake is struck out, never edited.

The result of a swap test is stored with its loan (``swap_tests``); the other kinds of observation are:

measured   a suspect was measured: it says bad or good
swapped    the unit was run with one or more spares in it that are out to the job
new part   a new part was fitted for good in place of a suspect
repaired   a line or joint, or whatever is in the place of a suspect, was mended
put back   the original went back into its place (A-B-A)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, invalid_field
from inventory.domain.common.records import from_row
from inventory.domain.common.shop import shop_config
from inventory.domain.common.validation import clean_text, get_row, validated_choice
from inventory.domain.diagnosis.diagnose import diagnose_job, suspect_of_job
from inventory.domain.diagnosis.diagnosis_records import EVIDENCE_KINDS, EvidenceRecord, EvidenceResult
from inventory.domain.diagnosis.job_case import describe_observation
from inventory.domain.diagnosis.measurement_accuracy import measurement_accuracy
from inventory.domain.diagnosis.new_parts import new_part_fitted
from inventory.domain.jobs import job_log
from inventory.domain.jobs.jobs import get_open_job
from inventory.domain.proof.procedures import validated_chance
from inventory.domain.proof.proofs import strike_once
from inventory.store.connection import transaction
from inventory.store.tables import Evidence, EvidenceSpare, Job, Loan, Lot

ALLOWED_FIELDS = {
    "measured": ("says_bad", "sensitivity", "specificity"), "swapped": ("works", "loan_ids"),
    "new part": ("works", "lot_id"), "repaired": ("works", "bad_if_good", "bad_if_bad"), "put back": ("works",),
}  # fmt: skip
REQUIRED_FIELDS = {"measured": "says_bad", "swapped": "works", "put back": "works"}
FIELD_PROMPTS = {
    "says_bad": "Say what the measurement says: bad or good.",
    "works": "Say how the unit then ran: it works, or still fails.",
    "loan_ids": "Say which pieces were in the unit: those that are out to this job.",
    "suspect_id": "Say which suspect it is about.",
}


def record_observation(
    job_id: int, kind: str, *, suspect_id: int | None = None, by: int | None = None, note: str = "", **seen: Any
) -> EvidenceResult:
    """Log one observation of ``EVIDENCE_KINDS`` and return how it moved the chances.

    *seen* is what ``ALLOWED_FIELDS`` names for the kind: *says_bad*, *works* (None: not run), chances from 0 to 1
    (left out: the shop's figures), *lot_id* of the new part, *loan_ids* of the spares that were fitted.
    Raises Invalid for what cannot be, Conflict for a closed job or when it contradicts what is logged already.
    """
    with transaction():
        job = get_open_job(job_id)
        kind_ = validated_choice(kind, "kind", EVIDENCE_KINDS)
        _require_allowed_fields(kind_, seen)
        suspect = _resolve_suspect(job, kind_, suspect_id)
        loans = _resolve_loans(job, seen.pop("loan_ids", None)) if kind_ == "swapped" else []
        values = _FIELD_PARSERS.get(kind_, _run_fields)(job, suspect, seen)
        _require_field(kind_, values)
        row = Evidence.create(
            job=job_id, kind=kind_, suspect=suspect_id, at=clock.now(), person=by,
            note=clean_text(note, "note", 1000), **values,
        )  # fmt: skip
        for loan in loans:
            EvidenceSpare.create(evidence=row.id, loan=loan.id)
        return _evidence_result(row.id, job_id)


def strike_observation(evidence_id: int, *, reason: str, by: int | None = None) -> EvidenceRecord:
    """Strike out an observation that was logged by mistake; it stays in the log with the *reason*."""
    with transaction():
        row = get_row(Evidence, evidence_id, "observation")
        why = clean_text(reason, "reason", 300, required=True)
        get_open_job(row.job_id)
        strike_once(row, "observation", "struck out", why, by)
        return observation(evidence_id)


def observation(evidence_id: int) -> EvidenceRecord:
    """Return one observation."""
    get_row(Evidence, evidence_id, "observation")
    return evidence_record(job_log.observation_entry(evidence_id))


def observations(job_id: int) -> list[EvidenceRecord]:
    """Return what was logged on a job, oldest first, struck ones too."""
    entries = job_log.log_entries(get_row(Job, job_id, "job"))
    return [evidence_record(entry) for entry in entries if entry.kind in EVIDENCE_KINDS]


def evidence_record(entry: job_log.LogEntry) -> EvidenceRecord:
    """Return the record of a log entry that is an observation."""
    row = entry.row
    return from_row(
        EvidenceRecord, row, suspect=row.suspect.name if row.suspect_id else "", person=entry.person,
        loan_ids=tuple(loan.id for loan in entry.loans), words=describe_observation(entry),
        struck_by=row.striker.shown_as if row.struck_by_id else "",
    )  # fmt: skip


def _evidence_result(evidence_id: int, job_id: int) -> EvidenceResult:
    """Weigh the log with the new observation; raise Conflict for a contradiction, which undoes the whole."""
    record = observation(evidence_id)
    try:
        diagnosis = diagnose_job(job_id)
    except Conflict as conflict:
        if conflict.reason == "contradiction":
            raise
        return EvidenceResult(record, f"{record.words} {conflict.sentence}", ())
    line = next(entry for entry in diagnosis.log if entry.evidence_id == evidence_id)
    return EvidenceResult(record, f"{record.words} {diagnosis.sentence}", line.moved)


# ---- checks ----------------------------------------------------------------------------------------------


def _require_allowed_fields(kind: str, seen: dict[str, Any]) -> None:
    unknown = sorted(name for name, value in seen.items() if name not in ALLOWED_FIELDS[kind] and value is not None)
    if unknown:
        sentence = f"Of something {kind} there is no {', '.join(unknown)} to note: leave it out."
        raise Invalid(sentence, errors={name: [sentence] for name in unknown})
    for name in set(seen) - set(ALLOWED_FIELDS[kind]):
        del seen[name]


def _require_field(kind: str, values: dict[str, Any]) -> None:
    name = REQUIRED_FIELDS.get(kind, "")
    if name and values.get(name) is None:
        raise _missing_field(name)


def _missing_field(name: str) -> Invalid:
    return invalid_field(name, FIELD_PROMPTS[name])


def _resolve_suspect(job: Job, kind: str, suspect_id: int | None) -> Any:
    if kind == "swapped":
        if suspect_id is not None:
            raise invalid_field("suspect_id", "A run with spares is about all of them: leave the suspect out.")
        return None
    if suspect_id is None:
        raise _missing_field("suspect_id")
    return suspect_of_job(job, suspect_id)


def _resolve_loans(job: Job, loan_ids: Sequence[int] | None) -> list[Any]:
    """Return the loans of the spares that were in the unit: out to this job, each in place of its own suspect."""
    loans = [get_row(Loan, loan_id, "loan") for loan_id in dict.fromkeys(loan_ids or ())]
    if not loans:
        raise _missing_field("loan_ids")
    for loan in loans:
        name = loan.piece.shown_as
        if loan.job_id != job.id or loan.ended is not None:
            raise Conflict(f"{name} is not out to job {job.number}: take it first.", reason="not_out")
        if loan.suspect_id is None:
            raise Conflict(
                f"{name} stands in for no suspect: bring it back and take it in place of one.", reason="no_suspect"
            )
    places = [loan.suspect_id for loan in loans]
    if len(set(places)) < len(places):
        raise Conflict("Two pieces cannot be in one place: say which one was fitted.", reason="one_place")
    return loans


def _run_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    return {"works": _optional_bool(seen, "works")}


def _measured_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    accuracy = measurement_accuracy(suspect, shop_config())
    return {
        "says_bad": _optional_bool(seen, "says_bad"),
        "sensitivity": _chance_or_default(seen, "sensitivity", accuracy.sensitivity),
        "specificity": _chance_or_default(seen, "specificity", accuracy.specificity),
    }


def _new_part_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    lot_id = seen.get("lot_id")
    if lot_id is not None:
        get_row(Lot, lot_id, "lot")
    new_part = new_part_fitted(job.id, suspect.part, lot_id)
    return {"works": _optional_bool(seen, "works"), "lot": new_part.lot_id, "p_good": new_part.p_good}


def _repaired_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    config = shop_config()
    return {
        "works": _optional_bool(seen, "works"),
        "bad_if_good": _chance_or_default(seen, "bad_if_good", config.repair_spoils),
        "bad_if_bad": _chance_or_default(seen, "bad_if_bad", config.repair_fails),
    }


_FIELD_PARSERS: dict[str, Callable[[Job, Any, dict[str, Any]], dict[str, Any]]] = {
    "measured": _measured_fields, "new part": _new_part_fields, "repaired": _repaired_fields,
}  # fmt: skip


def _optional_bool(seen: dict[str, Any], name: str) -> bool | None:
    value = seen.get(name)
    if value is not None and not isinstance(value, bool):
        raise _missing_field(name)
    return value


_CHANCE_LABELS = {
    "sensitivity": "The chance that the measurement calls a bad one bad",
    "specificity": "The chance that the measurement calls a good one good",
    "bad_if_good": "The chance that the repair spoils what was good",
    "bad_if_bad": "The chance that the repair leaves bad what was bad",
}


def _chance_or_default(seen: dict[str, Any], name: str, default: float) -> float:
    value = seen.get(name)
    if value is None:
        return default
    return validated_chance(value, name, _CHANCE_LABELS[name])
