"""/jobs: one customer's repair each."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.stock_schemas import PieceOut
from inventory.api.jobs.job_schemas import CloseJobIn, JobEdit, JobIn, JobOut, JobsQuery, JobUseOut, JobWaitIn
from inventory.api.movements.fit_schemas import JobSubstituteOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.common.records import JobRecord, PieceRecord, ResultPage
from inventory.domain.diagnosis import job_closing
from inventory.domain.jobs import jobs as domain
from inventory.domain.movements import overview
from inventory.domain.movements.substitute_records import FittedSubstituteRecord
from inventory.domain.movements.suggested_substitutes import substitutes_in_job
from inventory.web.access import current_person

resource = Resource("jobs", "One customer's repair each.")
JOB = JobOut()


@resource.get("/jobs")
@resource.arguments(JobsQuery(), location="query")
@resource.listed(JOB)
def jobs(params: dict[str, Any]) -> ResultPage:
    """List jobs, newest first."""
    return domain.jobs(**params)


@resource.post("/jobs")
@resource.arguments(JobIn())
@resource.response(201, JOB)
def add_job(data: dict[str, Any]) -> Any:
    """Open a job."""
    job = domain.add_job(**data)
    return job, location_header("job", job.id)


@resource.get("/jobs/<key:job_id>")
@resource.response(200, JOB)
def job(job_id: int) -> JobRecord:
    """Read a job."""
    return domain.job(job_id)


@resource.patch("/jobs/<key:job_id>")
@resource.arguments(JobEdit())
@resource.edited(JOB, domain.job)
def edit_job(data: dict[str, Any], job_id: int, version: int | None) -> JobRecord:
    """Change what is noted of a job."""
    return domain.edit_job(job_id, version, **data)


@resource.post("/jobs/<key:job_id>/wait")
@resource.arguments(JobWaitIn())
@resource.response(200, JOB)
def set_job_waiting(data: dict[str, Any], job_id: int) -> JobRecord:
    """Note that a job waits for something."""
    return domain.mark_waiting(job_id, **data)


@resource.post("/jobs/<key:job_id>/reopen")
@resource.response(200, JOB)
def reopen_job(job_id: int) -> JobRecord:
    """Work on a waiting or closed job again."""
    return domain.reopen_job(job_id)


@resource.post("/jobs/<key:job_id>/close")
@resource.arguments(CloseJobIn())
@resource.response(200, JOB)
def close_job(data: dict[str, Any], job_id: int) -> JobRecord:
    """Close a job and note what it was; its whole log then judges the spares. Refused while a piece is out (409)."""
    return job_closing.close_with_causes(job_id, **data, by=current_person().id).job


@resource.get("/jobs/<key:job_id>/used")
@resource.arguments(PageQuery(), location="query")
@resource.listed(JobUseOut(), key="lot.id", parent=domain.job)
def job_uses(params: dict[str, Any], job_id: int) -> list[overview.LotUsedByJob]:
    """List the loose stock that a job took and did not put back, with its cost by lot."""
    return overview.lots_used_by_job(job_id)


@resource.get("/jobs/<key:job_id>/pieces")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PieceOut(), key="id", parent=domain.job)
def job_pieces(params: dict[str, Any], job_id: int) -> list[PieceRecord]:
    """List the pieces that are fitted in a job's unit."""
    return overview.pieces_of_job(job_id)


@resource.get("/jobs/<key:job_id>/substitutions")
@resource.arguments(PageQuery(), location="query")
@resource.listed(JobSubstituteOut(), key="entry", parent=domain.job)
def job_substitutes(params: dict[str, Any], job_id: int) -> list[FittedSubstituteRecord]:
    """List what a job got in place of what it had asked for."""
    return substitutes_in_job(job_id)
