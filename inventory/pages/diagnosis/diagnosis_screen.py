"""At a job's diagnosis: what might be wrong, what to do next, what is left over, gathered for the job's page."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.common.atomic import atomic
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import JobRecord, SuspectRecord
from inventory.domain.common.shop import shop_config
from inventory.domain.diagnosis import job_closing, next_step, surplus
from inventory.domain.diagnosis.candidate_steps import SparesBySuspect
from inventory.domain.diagnosis.diagnose import WeighedCase, diagnosis_record, weigh_case
from inventory.domain.diagnosis.diagnosis_records import (
    ChanceChange,
    ClosingRecord,
    DiagnosisLogLine,
    DiagnosisRecord,
    NextStepsRecord,
    SurplusPart,
)
from inventory.domain.diagnosis.past_causes import SuspectSuggestion, suggest_suspects
from inventory.domain.jobs import jobs
from inventory.domain.jobs.symptoms import KnownSymptom, similar_symptoms

MAX_CHANGES = 5
SURELY_BAD = 0.9  # chance of being bad from which a suspect is ticked beforehand when a job is closed (assumed)


@dataclass(frozen=True)
class DiagnosisScreen:
    """What is known of what is wrong in a job; without a diagnosis, ``cannot`` says why there is none."""

    record: DiagnosisRecord | None
    cannot: str
    clash: tuple[int, ...]  # observations of which one must be struck out
    next: NextStepsRecord | None
    suggested: tuple[SuspectSuggestion, ...]
    similar_symptoms: tuple[KnownSymptom, ...]  # of the same model, when no closed job had this one
    surplus: tuple[SurplusPart, ...]
    closing: ClosingRecord | None

    @property
    def log(self) -> tuple[DiagnosisLogLine, ...]:
        """What was seen, newest first, the complaint left out."""
        return () if self.record is None else tuple(reversed(self.record.log[1:]))

    @property
    def p_bad(self) -> dict[int, float]:
        """How likely each suspect was bad, by its id, as it came in."""
        things = self.record.suspects if self.record else ()
        return {thing.suspect_id: thing.p_bad for thing in things if thing.suspect_id is not None}

    @property
    def surely_bad(self) -> frozenset[int]:
        """The suspects that it was by all that was seen, once nothing more is to be done: ticked when closing."""
        finished = self.next is not None and not self.next.steps
        return frozenset(key for key, bad in self.p_bad.items() if finished and bad >= SURELY_BAD)


def diagnosis_screen(job: JobRecord, fits: SparesBySuspect) -> DiagnosisScreen:
    """Gather what the log of a job says, whatever state it is in; *fits*: which spares fit each suspect."""
    closed = job.status == "closed"
    case, refused = _weigh_or_refusal(job.id)
    return DiagnosisScreen(
        record=diagnosis_record(case) if case else None,
        cannot=refused.sentence if refused else "",
        clash=tuple(refused.more.get("evidence_ids", ())) if refused else (),
        next=next_step.steps_for_case(case, fits) if case and not closed else None,
        suggested=() if closed else tuple(suggest_suspects(job.id)),
        similar_symptoms=_similar_symptoms(job, case) if not closed else (),
        surplus=tuple(surplus.surplus_parts(job.id)),
        closing=job_closing.last_closing(job.id) if closed else None,
    )


def _similar_symptoms(job: JobRecord, case: WeighedCase | None) -> tuple[KnownSymptom, ...]:
    counted = case is not None and case.priors.jobs > 0
    return () if counted else tuple(similar_symptoms(job.symptom, job.unit_model_id))


def set_known_symptom(job_id: int, symptom: str) -> JobRecord:
    """Call a job's symptom by words that the shop knows; the customer's own are kept in the note."""
    with atomic():
        job = jobs.job(job_id)
        note = job.note
        if job.symptom and job.symptom != symptom.strip() and job.symptom not in note:
            note = f"{note}\nIn the customer's words: {job.symptom}".strip()
        return jobs.edit_job(job_id, symptom=symptom, note=note)


def set_intermittent(job_id: int, suspect_id: int, yes: bool) -> SuspectRecord:
    """Note that a suspect's fault comes and goes, with the shop's figure for such a one, or that it does not."""
    with atomic():
        suspect = jobs.suspect_of_job(job_id, suspect_id)
        return jobs.set_mask(suspect.id, shop_config().mask_intermittent if yes else None)


def _weigh_or_refusal(job_id: int) -> tuple[WeighedCase | None, Conflict | None]:
    try:
        return weigh_case(job_id), None
    except Conflict as refused:
        return None, refused


def changes_from_loan(job_id: int, loan_id: int) -> tuple[ChanceChange, ...]:
    """Return how a swap test's result moved the chances of its job, the most moved first; nothing when closed."""
    if jobs.job(job_id).status == "closed":
        return ()
    case, _ = _weigh_or_refusal(job_id)
    lines = diagnosis_record(case).log if case else ()
    moved = next((line.moved for line in lines if line.loan_id == loan_id), ())
    return tuple(change for change in moved if change.shows)[:MAX_CHANGES]
