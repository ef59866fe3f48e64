"""/jobs: one customer's repair each."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.stock_schemas import PieceOut
from inventory.api.jobs.job_schemas import CloseIn, JobEdit, JobIn, JobOut, JobsQuery, JobUseOut, WaitIn
from inventory.api.movements.fit_schemas import StoodInOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.domain.common.records import JobRecord, Page, PieceRecord
from inventory.domain.diagnosis import job_closing
from inventory.domain.jobs import jobs as stock
from inventory.domain.movements import overview
from inventory.domain.movements.substitute_records import StoodInRecord
from inventory.domain.movements.suggested_substitutes import stood_in_at
from inventory.web.access import caller

resource = Resource("jobs", "One customer's repair each.")
JOB = JobOut()


@resource.get("/jobs")
@resource.arguments(JobsQuery(), location="query")
@resource.listed(JOB)
def jobs(asked: dict[str, Any]) -> Page:
    """List jobs, newest first."""
    return stock.jobs(**asked)


@resource.post("/jobs")
@resource.arguments(JobIn())
@resource.response(201, JOB)
def add_job(given: dict[str, Any]) -> Any:
    """Open a job."""
    made = stock.add_job(**given)
    return made, at("job", made.id)


@resource.get("/jobs/<key:job_id>")
@resource.response(200, JOB)
def job(job_id: int) -> JobRecord:
    """Read a job."""
    return stock.job(job_id)


@resource.patch("/jobs/<key:job_id>")
@resource.arguments(JobEdit())
@resource.edited(JOB, stock.job)
def edit_job(given: dict[str, Any], job_id: int, version: int | None) -> JobRecord:
    """Change what is noted of a job."""
    return stock.edit_job(job_id, version, **given)


@resource.post("/jobs/<key:job_id>/wait")
@resource.arguments(WaitIn())
@resource.response(200, JOB)
def wait_for(given: dict[str, Any], job_id: int) -> JobRecord:
    """Note that a job waits for something."""
    return stock.wait_for(job_id, **given)


@resource.post("/jobs/<key:job_id>/reopen")
@resource.response(200, JOB)
def reopen_job(job_id: int) -> JobRecord:
    """Work on a waiting or closed job again."""
    return stock.reopen_job(job_id)


@resource.post("/jobs/<key:job_id>/close")
@resource.arguments(CloseIn())
@resource.response(200, JOB)
def close_job(given: dict[str, Any], job_id: int) -> JobRecord:
    """Close a job and note what it was; its whole log then judges the spares. Refused while a piece is out (409)."""
    return job_closing.close(job_id, **given, by=caller().id).job


@resource.get("/jobs/<key:job_id>/used")
@resource.arguments(PageQuery(), location="query")
@resource.listed(JobUseOut(), key=lambda one: one.lot.id, of=stock.job)
def job_used(asked: dict[str, Any], job_id: int) -> list[overview.JobUse]:
    """List the loose stock that a job took and did not put back, with its cost by lot."""
    return overview.used_by_job(job_id)


@resource.get("/jobs/<key:job_id>/pieces")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PieceOut(), key=lambda one: one.id, of=stock.job)
def job_pieces(asked: dict[str, Any], job_id: int) -> list[PieceRecord]:
    """List the pieces that are fitted in a job's unit."""
    return overview.pieces_of_job(job_id)


@resource.get("/jobs/<key:job_id>/stand-ins")
@resource.arguments(PageQuery(), location="query")
@resource.listed(StoodInOut(), key=lambda one: one.entry, of=stock.job)
def job_stand_ins(asked: dict[str, Any], job_id: int) -> list[StoodInRecord]:
    """List what a job got in place of what it had asked for."""
    return stood_in_at(job_id)
