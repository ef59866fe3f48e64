"""At a job's diagnosis: what might be wrong, what to do next, what is left over, gathered for the job's page."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import JobRecord, SuspectRecord
from inventory.domain.common.shop import shop
from inventory.domain.common.validation import row
from inventory.domain.diagnosis import job_closing, next_step, surplus
from inventory.domain.diagnosis.candidate_steps import Choices
from inventory.domain.diagnosis.diagnose import Weighed, record_of, weigh
from inventory.domain.diagnosis.diagnosis_records import (
    ClosingRecord,
    DiagnosisRecord,
    LogLine,
    Moved,
    NextStepsRecord,
    Unneeded,
)
from inventory.domain.diagnosis.past_causes import Suggestion, suggested
from inventory.domain.jobs import jobs
from inventory.domain.jobs.symptoms import KnownSymptom, near_symptoms
from inventory.store.connection import writing
from inventory.store.tables import Suspect

MOST_MOVED = 5
SURE = 0.9  # chance of being bad from which a suspect is ticked beforehand when a job is closed (assumed)


@dataclass(frozen=True)
class AtDiagnosis:
    """What is known of what is wrong in a job; without a diagnosis, ``cannot`` says why there is none."""

    said: DiagnosisRecord | None
    cannot: str
    clash: tuple[int, ...]  # observations of which one must be struck out
    next: NextStepsRecord | None
    suggested: tuple[Suggestion, ...]
    near: tuple[KnownSymptom, ...]  # of the same model, when no closed job had this one
    unneeded: tuple[Unneeded, ...]
    closing: ClosingRecord | None

    @property
    def log(self) -> tuple[LogLine, ...]:
        """What was seen, newest first, the complaint left out."""
        return () if self.said is None else tuple(reversed(self.said.log[1:]))

    @property
    def p_bad(self) -> dict[int, float]:
        """How likely each suspect was bad, by its id, as it came in."""
        things = self.said.suspects if self.said else ()
        return {one.suspect_id: one.p_bad for one in things if one.suspect_id is not None}

    @property
    def surely_bad(self) -> frozenset[int]:
        """The suspects that it was by all that was seen, once nothing more is to be done: ticked when closing."""
        done = self.next is not None and not self.next.steps
        return frozenset(key for key, bad in self.p_bad.items() if done and bad >= SURE)


def at_diagnosis(job: JobRecord, fits: Choices) -> AtDiagnosis:
    """Gather what the log of a job says, whatever state it is in; *fits*: which spares fit each suspect."""
    closed = job.status == "closed"
    found, refused = _weighed(job.id)
    return AtDiagnosis(
        said=record_of(found) if found else None,
        cannot=refused.sentence if refused else "",
        clash=tuple(refused.more.get("evidence_ids", ())) if refused else (),
        next=next_step.steps_for(found, fits) if found and not closed else None,
        suggested=() if closed else tuple(suggested(job.id)),
        near=_near(job, found) if not closed else (),
        unneeded=tuple(surplus.unneeded(job.id)),
        closing=job_closing.last_closing(job.id) if closed else None,
    )


def _near(job: JobRecord, found: Weighed | None) -> tuple[KnownSymptom, ...]:
    counted = found is not None and found.priors.jobs > 0
    return () if counted else tuple(near_symptoms(job.symptom, job.unit_model_id))


def known_as(job_id: int, symptom: str) -> JobRecord:
    """Call a job's symptom by words that the shop knows; the customer's own are kept in the note."""
    with writing():
        job = jobs.job(job_id)
        note = job.note
        if job.symptom and job.symptom != symptom.strip() and job.symptom not in note:
            note = f"{note}\nIn the customer's words: {job.symptom}".strip()
        return jobs.edit_job(job_id, symptom=symptom, note=note)


def comes_and_goes(job_id: int, suspect_id: int, yes: bool) -> SuspectRecord:
    """Note that a suspect's fault comes and goes, with the shop's figure for such a one, or that it does not."""
    with writing():
        found = row(Suspect, suspect_id, "suspect")
        if found.job_id != job_id:
            raise Conflict("That suspect is another job's: open that job first.", reason="other_job")
        return jobs.set_mask(suspect_id, shop().mask_intermittent if yes else None)


def _weighed(job_id: int) -> tuple[Weighed | None, Conflict | None]:
    try:
        return weigh(job_id), None
    except Conflict as refused:
        return None, refused


def moved_by_loan(job_id: int, loan_id: int) -> tuple[Moved, ...]:
    """Return how a swap test's result moved the chances of its job, the most moved first; nothing when closed."""
    if jobs.job(job_id).status == "closed":
        return ()
    found, _ = _weighed(job_id)
    lines = record_of(found).log if found else ()
    moved = next((one.moved for one in lines if one.loan_id == loan_id), ())
    return tuple(one for one in moved if one.shows)[:MOST_MOVED]
