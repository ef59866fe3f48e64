"""What a job turned out to be, what it left over, and which spares are worth keeping."""

from __future__ import annotations

from typing import Any

from inventory.api.diagnosis.diagnosis_schemas import ClosingOut, KeepListOut, KeptSpareIn, KeptSpareOut, UnneededOut
from inventory.api.operation_docs import may_answer
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.domain.diagnosis import job_closing, spare_value, surplus
from inventory.domain.diagnosis.diagnosis_records import ClosingRecord, KeepListRecord, Unneeded
from inventory.domain.jobs import jobs
from inventory.web.access import caller

resource = Resource("learning", "What jobs turned out to be, and what that makes of spares.")


@resource.get("/jobs/<key:job_id>/closing")
@may_answer(409)
@resource.response(200, ClosingOut())
def closing(job_id: int) -> ClosingRecord:
    """Read what a job turned out to be when it was closed last, and what that said of its spares."""
    return job_closing.closing(job_id)


@resource.get("/jobs/<key:job_id>/left-over")
@resource.arguments(PageQuery(), location="query")
@resource.listed(UnneededOut(), key=lambda one: f"{one.lot.id}.{one.piece_id}", of=jobs.job)
def unneeded(asked: dict[str, Any], job_id: int) -> list[Unneeded]:
    """List the parts of cleared suspects that a job took or that came in for it: each may become a spare."""
    return surplus.unneeded(job_id)


@resource.post("/jobs/<key:job_id>/kept-spares")
@resource.arguments(KeptSpareIn())
@resource.response(201, KeptSpareOut(), entity=False)
def keep_as_spare(given: dict[str, Any], job_id: int) -> Any:
    """Make a part that a job did not need a spare; if it ran in the unit, that run is its proof."""
    kept = surplus.keep_as_spare(job_id, **given, by=caller().id)
    return kept, at("piece", kept.piece.id)


@resource.get("/keep-list")
@resource.response(200, KeepListOut())
def keep_list() -> KeepListRecord:
    """Work out which spares are worth proving and keeping, from the bench's own jobs."""
    return spare_value.keep_list()
