"""/jobs/{job_id}/needs: what a job wants of a part."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.job_schemas import NeedIn, NeedOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.records import NeedRecord
from inventory.domain.jobs import jobs as stock

resource = Resource("needs", "What jobs want of parts.")
NEED = NeedOut()


@resource.get("/jobs/<key:job_id>/needs")
@resource.arguments(PageQuery(), location="query")
@resource.listed(NEED, key=lambda one: one.id, of=stock.job)
def needs(asked: dict[str, Any], job_id: int) -> list[NeedRecord]:
    """List what a job wants, with what is on the shelf of each."""
    return stock.needs(job_id)


@resource.put("/jobs/<key:job_id>/needs/<key:part_id>")
@resource.arguments(NeedIn())
@resource.response(200, NEED, entity=False)
def set_need(given: dict[str, Any], job_id: int, part_id: int) -> NeedRecord:
    """Say how many of a part a job wants in all, those already taken included."""
    return stock.set_need(job_id, part_id, **given)


@resource.delete("/needs/<key:need_id>")
@resource.response(204)
def drop_need(need_id: int) -> None:
    """Note that the job does not want it after all."""
    stock.drop_need(need_id)
