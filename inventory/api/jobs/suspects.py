"""/jobs/{job_id}/suspects: what might be wrong in a job."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.job_schemas import MaskIn, SuspectIn, SuspectOut, VerdictIn
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.records import SuspectRecord
from inventory.domain.jobs import jobs as stock

resource = Resource("suspects", "What might be wrong in jobs.")
SUSPECT = SuspectOut()


@resource.get("/jobs/<key:job_id>/suspects")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SUSPECT, key=lambda one: one.id, of=stock.job)
def suspects(asked: dict[str, Any], job_id: int) -> list[SuspectRecord]:
    """List what might be wrong in a job, in the order named."""
    return stock.suspects(job_id)


@resource.post("/jobs/<key:job_id>/suspects")
@resource.arguments(SuspectIn())
@resource.response(201, SUSPECT, entity=False)
def add_suspect(given: dict[str, Any], job_id: int) -> SuspectRecord:
    """Name something that might be wrong; naming it twice changes nothing."""
    return stock.add_suspect(job_id, **given)


@resource.put("/suspects/<key:suspect_id>/verdict")
@resource.arguments(VerdictIn())
@resource.response(200, SUSPECT, entity=False)
def set_verdict(given: dict[str, Any], suspect_id: int) -> SuspectRecord:
    """Note that a suspect turned out bad or good."""
    return stock.set_verdict(suspect_id, **given)


@resource.put("/suspects/<key:suspect_id>/mask")
@resource.arguments(MaskIn())
@resource.response(200, SUSPECT, entity=False)
def set_mask(given: dict[str, Any], suspect_id: int) -> SuspectRecord:
    """Note that a suspect's fault comes and goes, and how often it hides during a run."""
    return stock.set_mask(suspect_id, **given)
