"""/jobs/{job_id}/evidence and what it says: diagnosis, next steps, the case as a file."""

from __future__ import annotations

from typing import Any

from inventory.api.diagnosis.diagnosis_schemas import (
    CaseFileOut,
    DiagnosisOut,
    EvidenceIn,
    EvidenceOut,
    EvidenceResultOut,
    NextStepsOut,
    StrikeEvidenceIn,
    SuggestedSuspectOut,
)
from inventory.api.operation_docs import extra_statuses
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.diagnosis import diagnose, next_step, past_causes
from inventory.domain.diagnosis import evidence as domain
from inventory.domain.diagnosis.diagnosis_records import DiagnosisRecord, EvidenceRecord, NextStepsRecord
from inventory.domain.jobs import jobs
from inventory.web.access import current_person

resource = Resource("diagnosis", "What was seen of the suspects of a job, what it says, and what to do next.")
EVIDENCE = EvidenceOut()


@resource.get("/jobs/<key:job_id>/evidence")
@resource.arguments(PageQuery(), location="query")
@resource.listed(EVIDENCE, key="id", parent=jobs.job)
def observations(params: dict[str, Any], job_id: int) -> list[EvidenceRecord]:
    """List what was logged on a job, oldest first, struck observations too. Swap results are kept with loans."""
    return domain.observations(job_id)


@resource.post("/jobs/<key:job_id>/evidence")
@resource.arguments(EvidenceIn())
@resource.response(201, EvidenceResultOut(), with_etag=False)
def log_observation(data: dict[str, Any], job_id: int) -> Any:
    """Log what was seen of a suspect, and learn how it moves the chances.

    Refused (409) for a closed job, a piece that is not out to it, or when it contradicts what is logged already.
    """
    noted = domain.record_observation(job_id, **data, by=current_person().id)
    return noted, location_header("evidence", noted.evidence.id)


@resource.get("/evidence/<key:evidence_id>")
@resource.response(200, EVIDENCE)
def observation(evidence_id: int) -> EvidenceRecord:
    """Read one observation."""
    return domain.observation(evidence_id)


@resource.post("/evidence/<key:evidence_id>/strike")
@resource.arguments(StrikeEvidenceIn())
@resource.response(200, EVIDENCE, with_etag=False)
def strike_evidence(data: dict[str, Any], evidence_id: int) -> EvidenceRecord:
    """Let an observation that was logged by mistake count no longer; it stays in the log."""
    return domain.strike_observation(evidence_id, **data, by=current_person().id)


@resource.get("/jobs/<key:job_id>/diagnosis")
@extra_statuses(409)
@resource.response(200, DiagnosisOut())
def diagnosis(job_id: int) -> DiagnosisRecord:
    """Work out what a job's whole log says of its suspects and spares.

    Refused (409) when no suspect is named (no_suspect), the observations contradict each other (contradiction), or
    there are more than 22 things to weigh exactly (too_many).
    """
    return diagnose.diagnose_job(job_id)


@resource.get("/jobs/<key:job_id>/next-steps")
@extra_statuses(409)
@resource.response(200, NextStepsOut())
def next_steps(job_id: int) -> NextStepsRecord:
    """Work out what could be done next, with cost now, chance to end the job, and expected total."""
    return next_step.next_steps(job_id)


@resource.get("/jobs/<key:job_id>/case")
@extra_statuses(409)
@resource.response(200, CaseFileOut())
def case_file(job_id: int) -> dict[str, Any]:
    """Read a job's log as a case for `benchproof diagnose`."""
    return diagnose.case_file(job_id)


@resource.get("/jobs/<key:job_id>/suggested-suspects")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SuggestedSuspectOut(), key="name")
def suggested_suspects(params: dict[str, Any], job_id: int) -> list[past_causes.SuspectSuggestion]:
    """List suspects of earlier jobs of the same model that this one has not named, same symptom first."""
    return past_causes.suggest_suspects(job_id)
