"""What a job turned out to be, what it left over, and which spares are worth keeping."""

from __future__ import annotations

from typing import Any

from inventory.api.diagnosis.diagnosis_schemas import (
    JobClosingOut,
    NewSpareIn,
    NewSpareOut,
    SpareValueListOut,
    SurplusPartOut,
)
from inventory.api.operation_docs import extra_statuses
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.diagnosis import job_closing, spare_value, surplus
from inventory.domain.diagnosis.diagnosis_records import ClosingRecord, SpareValueList, SurplusPart
from inventory.domain.jobs import jobs
from inventory.web.access import current_person

resource = Resource("learning", "What jobs turned out to be, and what that makes of spares.")


@resource.get("/jobs/<key:job_id>/closing")
@extra_statuses(409)
@resource.response(200, JobClosingOut())
def read_job_closing(job_id: int) -> ClosingRecord:
    """Read what a job turned out to be when it was closed last, and what that said of its spares."""
    return job_closing.closing(job_id)


@resource.get("/jobs/<key:job_id>/left-over")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SurplusPartOut(), key=lambda part: f"{part.lot.id}.{part.piece_id}", parent=jobs.job)
def surplus_parts(params: dict[str, Any], job_id: int) -> list[SurplusPart]:
    """List the parts of cleared suspects that a job took or that came in for it: each may become a spare."""
    return surplus.surplus_parts(job_id)


@resource.post("/jobs/<key:job_id>/kept-spares")
@resource.arguments(NewSpareIn())
@resource.response(201, NewSpareOut(), with_etag=False)
def make_spare(data: dict[str, Any], job_id: int) -> Any:
    """Make a part that a job did not need a spare; if it ran in the unit, that run is its proof."""
    spare = surplus.keep_as_spare(job_id, **data, by=current_person().id)
    return spare, location_header("piece", spare.piece.id)


@resource.get("/keep-list")
@resource.response(200, SpareValueListOut())
def spare_values() -> SpareValueList:
    """Work out which spares are worth proving and keeping, from the bench's own jobs."""
    return spare_value.spare_values()
