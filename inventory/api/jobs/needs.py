"""/jobs/{job_id}/needs: what a job wants of a part."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.job_schemas import NeedIn, NeedOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.records import NeedRecord
from inventory.domain.jobs import jobs as domain

resource = Resource("needs", "What jobs want of parts.")
NEED = NeedOut()


@resource.get("/jobs/<key:job_id>/needs")
@resource.arguments(PageQuery(), location="query")
@resource.listed(NEED, key="id", parent=domain.job)
def needs(params: dict[str, Any], job_id: int) -> list[NeedRecord]:
    """List what a job wants, with what is on the shelf of each."""
    return domain.needs(job_id)


@resource.put("/jobs/<key:job_id>/needs/<key:part_id>")
@resource.arguments(NeedIn())
@resource.response(200, NEED, with_etag=False)
def set_need(data: dict[str, Any], job_id: int, part_id: int) -> NeedRecord:
    """Say how many of a part a job wants in all, those already taken included."""
    return domain.set_need(job_id, part_id, **data)


@resource.delete("/needs/<key:need_id>")
@resource.response(204)
def drop_need(need_id: int) -> None:
    """Note that the job does not want it after all."""
    domain.drop_need(need_id)
