"""/jobs/{job_id}/suspects: what might be wrong in a job."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.job_schemas import IntermittentIn, SuspectIn, SuspectOut, VerdictIn
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.records import SuspectRecord
from inventory.domain.jobs import jobs as domain

resource = Resource("suspects", "What might be wrong in jobs.")
SUSPECT = SuspectOut()


@resource.get("/jobs/<key:job_id>/suspects")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SUSPECT, key="id", parent=domain.job)
def suspects(params: dict[str, Any], job_id: int) -> list[SuspectRecord]:
    """List what might be wrong in a job, in the order named."""
    return domain.suspects(job_id)


@resource.post("/jobs/<key:job_id>/suspects")
@resource.arguments(SuspectIn())
@resource.response(201, SUSPECT, with_etag=False)
def add_suspect(data: dict[str, Any], job_id: int) -> SuspectRecord:
    """Name something that might be wrong; naming it twice changes nothing."""
    return domain.add_suspect(job_id, **data)


@resource.put("/suspects/<key:suspect_id>/verdict")
@resource.arguments(VerdictIn())
@resource.response(200, SUSPECT, with_etag=False)
def set_verdict(data: dict[str, Any], suspect_id: int) -> SuspectRecord:
    """Note that a suspect turned out bad or good."""
    return domain.set_verdict(suspect_id, **data)


@resource.put("/suspects/<key:suspect_id>/mask")
@resource.arguments(IntermittentIn())
@resource.response(200, SUSPECT, with_etag=False)
def set_intermittent(data: dict[str, Any], suspect_id: int) -> SuspectRecord:
    """Note that a suspect's fault comes and goes, and how often it hides during a run."""
    return domain.set_mask(suspect_id, **data)
