"""Logging what was seen of the suspects of a job. A slip is struck out, never edited: the log is the truth.

The result of a swap test is kept with its loan (``lend``); here is what else there is to see:

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
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.records import from_row
from inventory.domain.common.shop import shop_config
from inventory.domain.common.validation import clean_text, get_row, validated_choice
from inventory.domain.diagnosis.diagnose import diagnose_job
from inventory.domain.diagnosis.diagnosis_records import EvidenceRecord, EvidenceResult
from inventory.domain.diagnosis.job_case import describe_observation
from inventory.domain.diagnosis.measurement_accuracy import measurement_accuracy
from inventory.domain.diagnosis.new_parts import new_part_fitted
from inventory.domain.jobs import job_log
from inventory.domain.jobs.jobs import get_open_job
from inventory.reckoning.common.value_checks import check_chance
from inventory.store.connection import transaction
from inventory.store.tables import Evidence, EvidenceSpare, Job, Loan, Lot, Suspect

EVIDENCE_KINDS = ("measured", "swapped", "new part", "repaired", "put back")
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
    """Log one observation of ``KINDS`` and return how it moved the chances.

    *seen* is what ``ALLOWED`` names for the kind: *says_bad*, *works* (None: not run), chances from 0 to 1 (left
    out: the shop's figures), *lot_id* of the new part, *loan_ids* of the spares that were fitted. Raises Invalid
    for what cannot be, Conflict for a closed job or when it contradicts what is logged already.
    """
    with transaction():
        job = get_open_job(job_id)
        kept = validated_choice(kind, "kind", EVIDENCE_KINDS)
        _require_allowed_fields(kept, seen)
        suspect = _resolve_suspect(job, kept, suspect_id)
        loans = _resolve_loans(job, seen.pop("loan_ids", None)) if kept == "swapped" else []
        given = _FIELD_PARSERS.get(kept, _run_fields)(job, suspect, seen)
        _require_field(kept, given)
        made = Evidence.create(
            job=job_id, kind=kept, suspect=suspect_id, at=clock.now(), person=by,
            note=clean_text(note, "note", 1000), **given,
        )  # fmt: skip
        for loan in loans:
            EvidenceSpare.create(evidence=made.id, loan=loan.id)
        return _evidence_result(made.id, job_id)


def strike_observation(evidence_id: int, *, reason: str, by: int | None = None) -> EvidenceRecord:
    """Let an observation that was logged by mistake count no longer; it stays in the log with the *reason*."""
    with transaction():
        found = get_row(Evidence, evidence_id, "observation")
        said = clean_text(reason, "reason", 300, required=True)
        get_open_job(found.job_id)
        done = (
            Evidence.update(struck=clock.now(), struck_by=by, struck_reason=said)
            .where(Evidence.id == evidence_id, Evidence.struck.is_null())
            .execute()
        )
        if done != 1:
            raise Conflict("This observation was struck out already.", reason="struck_already")
        return observation(evidence_id)


def observation(evidence_id: int) -> EvidenceRecord:
    """Return one observation."""
    get_row(Evidence, evidence_id, "observation")
    return evidence_record(job_log.observation_entry(evidence_id))


def observations(job_id: int) -> list[EvidenceRecord]:
    """Return what was logged on a job, oldest first, struck ones too."""
    found = job_log.log_entries(get_row(Job, job_id, "job"))
    return [evidence_record(one) for one in found if one.kind in EVIDENCE_KINDS]


def evidence_record(entry: job_log.LogEntry) -> EvidenceRecord:
    """Shape an entry of the log that is an observation."""
    seen = entry.row
    return from_row(
        EvidenceRecord, seen, suspect=seen.suspect.name if seen.suspect_id else "", person=entry.person,
        loan_ids=tuple(loan.id for loan in entry.loans), words=describe_observation(entry),
        struck_by=seen.striker.shown_as if seen.struck_by_id else "",
    )  # fmt: skip


def _evidence_result(evidence_id: int, job_id: int) -> EvidenceResult:
    """Weigh the log with the new observation in it; a contradiction undoes the whole."""
    made = observation(evidence_id)
    try:
        said = diagnose_job(job_id)
    except Conflict as refused:
        if refused.reason == "contradiction":
            raise
        return EvidenceResult(made, f"{made.words} {refused.sentence}", ())
    line = next(one for one in said.log if one.evidence_id == evidence_id)
    return EvidenceResult(made, f"{made.words} {said.sentence}", line.moved)


# ---- checks ----------------------------------------------------------------------------------------------


def _require_allowed_fields(kind: str, seen: dict[str, Any]) -> None:
    unknown = sorted(name for name, value in seen.items() if name not in ALLOWED_FIELDS[kind] and value is not None)
    if unknown:
        sentence = f"Of something {kind} there is no {', '.join(unknown)} to note: leave it out."
        raise Invalid(sentence, errors={name: [sentence] for name in unknown})
    for name in set(seen) - set(ALLOWED_FIELDS[kind]):
        del seen[name]


def _require_field(kind: str, given: dict[str, Any]) -> None:
    name = REQUIRED_FIELDS.get(kind, "")
    if name and given.get(name) is None:
        raise _missing_field(name)


def _missing_field(name: str) -> Invalid:
    return Invalid(FIELD_PROMPTS[name], errors={name: [FIELD_PROMPTS[name]]})


def _resolve_suspect(job: Job, kind: str, suspect_id: int | None) -> Any:
    if kind == "swapped":
        if suspect_id is not None:
            sentence = "A run with spares is about all of them: leave the suspect out."
            raise Invalid(sentence, errors={"suspect_id": [sentence]})
        return None
    if suspect_id is None:
        raise _missing_field("suspect_id")
    found = get_row(Suspect, suspect_id, "suspect")
    if found.job_id != job.id:
        raise Conflict(f"{found.name} is a suspect of another job: choose one of job {job.number}.")
    return found


def _resolve_loans(job: Job, loan_ids: Sequence[int] | None) -> list[Any]:
    """Return the loans of the spares that were in the unit: out to this job, each in place of its own suspect."""
    found = [get_row(Loan, fromkey, "loan") for fromkey in dict.fromkeys(loan_ids or ())]
    if not found:
        raise _missing_field("loan_ids")
    for one in found:
        name = one.piece.shown_as
        if one.job_id != job.id or one.ended is not None:
            raise Conflict(f"{name} is not out to job {job.number}: take it first.", reason="not_out")
        if one.suspect_id is None:
            raise Conflict(
                f"{name} stands in for no suspect: bring it back and take it in place of one.", reason="no_suspect"
            )
    places = [one.suspect_id for one in found]
    if len(set(places)) < len(places):
        raise Conflict("Two pieces cannot be in one place: say which one was fitted.", reason="one_place")
    return found


def _run_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    return {"works": _optional_bool(seen, "works")}


def _measured_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    by = measurement_accuracy(suspect, shop_config())
    return {
        "says_bad": _optional_bool(seen, "says_bad"),
        "sensitivity": _chance_or_default(seen, "sensitivity", by.finds),
        "specificity": _chance_or_default(seen, "specificity", by.passes),
    }


def _new_part_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    lot_id = seen.get("lot_id")
    if lot_id is not None:
        get_row(Lot, lot_id, "lot")
    found = new_part_fitted(job.id, suspect.part, lot_id)
    return {"works": _optional_bool(seen, "works"), "lot": found.lot_id, "p_good": found.p_good}


def _repaired_fields(job: Job, suspect: Any, seen: dict[str, Any]) -> dict[str, Any]:
    own = shop_config()
    return {
        "works": _optional_bool(seen, "works"),
        "bad_if_good": _chance_or_default(seen, "bad_if_good", own.repair_spoils),
        "bad_if_bad": _chance_or_default(seen, "bad_if_bad", own.repair_fails),
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
    try:
        return check_chance(value, _CHANCE_LABELS[name])
    except ValueError as bad:
        raise Invalid(str(bad), errors={name: [str(bad)]}) from None
