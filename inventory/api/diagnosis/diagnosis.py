"""/jobs/{job_id}/evidence and what it says: diagnosis, next steps, the case as a file."""

from __future__ import annotations

from typing import Any

from inventory.api.diagnosis.diagnosis_schemas import (
    CaseOut,
    DiagnosisOut,
    EvidenceIn,
    EvidenceOut,
    NextStepsOut,
    NotedOut,
    StrikeIn,
    SuggestedOut,
)
from inventory.api.operation_docs import may_answer
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.domain.diagnosis import diagnose, next_step, past_causes
from inventory.domain.diagnosis import evidence as stock
from inventory.domain.diagnosis.diagnosis_records import DiagnosisRecord, EvidenceRecord, NextStepsRecord
from inventory.domain.jobs import jobs
from inventory.web.access import caller

resource = Resource("diagnosis", "What was seen of the suspects of a job, what it says, and what to do next.")
EVIDENCE = EvidenceOut()


@resource.get("/jobs/<key:job_id>/evidence")
@resource.arguments(PageQuery(), location="query")
@resource.listed(EVIDENCE, key=lambda one: one.id, of=jobs.job)
def observations(asked: dict[str, Any], job_id: int) -> list[EvidenceRecord]:
    """List what was logged on a job, oldest first, struck observations too. Swap results are kept with loans."""
    return stock.observations(job_id)


@resource.post("/jobs/<key:job_id>/evidence")
@resource.arguments(EvidenceIn())
@resource.response(201, NotedOut(), entity=False)
def observe(given: dict[str, Any], job_id: int) -> Any:
    """Log what was seen of a suspect, and learn how it moves the chances.

    Refused (409) for a closed job, a piece that is not out to it, or when it contradicts what is logged already.
    """
    noted = stock.observe(job_id, **given, by=caller().id)
    return noted, at("evidence", noted.evidence.id)


@resource.get("/evidence/<key:evidence_id>")
@resource.response(200, EVIDENCE)
def observation(evidence_id: int) -> EvidenceRecord:
    """Read one observation."""
    return stock.observation(evidence_id)


@resource.post("/evidence/<key:evidence_id>/strike")
@resource.arguments(StrikeIn())
@resource.response(200, EVIDENCE, entity=False)
def strike(given: dict[str, Any], evidence_id: int) -> EvidenceRecord:
    """Let an observation that was logged by mistake count no longer; it stays in the log."""
    return stock.strike(evidence_id, **given, by=caller().id)


@resource.get("/jobs/<key:job_id>/diagnosis")
@may_answer(409)
@resource.response(200, DiagnosisOut())
def diagnosis(job_id: int) -> DiagnosisRecord:
    """Work out what a job's whole log says of its suspects and spares.

    Refused (409) when no suspect is named (no_suspect), the observations contradict each other (contradiction), or
    there are more than 22 things to weigh exactly (too_many).
    """
    return diagnose.diagnosis(job_id)


@resource.get("/jobs/<key:job_id>/next-steps")
@may_answer(409)
@resource.response(200, NextStepsOut())
def next_steps(job_id: int) -> NextStepsRecord:
    """Work out what could be done next, with cost now, chance to end the job, and expected total."""
    return next_step.next_steps(job_id)


@resource.get("/jobs/<key:job_id>/case")
@may_answer(409)
@resource.response(200, CaseOut())
def case_file(job_id: int) -> dict[str, Any]:
    """Read a job's log as a case for `benchproof diagnose`."""
    return diagnose.case_file(job_id)


@resource.get("/jobs/<key:job_id>/suggested-suspects")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SuggestedOut(), key=lambda one: one.name)
def suggested(asked: dict[str, Any], job_id: int) -> list[past_causes.Suggestion]:
    """List suspects of earlier jobs of the same model that this one has not named, same symptom first."""
    return past_causes.suggested(job_id)
