"""/jobs/{job_id}/notices, /notices: what a customer is told of their repair, and what they answer."""

from __future__ import annotations

from typing import Any

from inventory.api.money.notice_schemas import NoticeAnswerIn, NoticeDraftOut, NoticeIn, NoticeOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.jobs import jobs
from inventory.domain.money import notices as domain
from inventory.domain.money.notice_draft import draft_notice
from inventory.domain.money.notice_records import NoticeDraft, NoticeRecord
from inventory.web.access import current_person, current_settings

resource = Resource("notices", "What a customer is told: what was found, what it takes and costs, when it is ready.")
NOTICE = NoticeOut()


@resource.get("/jobs/<key:job_id>/notices")
@resource.arguments(PageQuery(), location="query")
@resource.listed(NOTICE, key=lambda notice: -notice.id, parent=jobs.job)
def notices(params: dict[str, Any], job_id: int) -> list[NoticeRecord]:
    """List what the customer of a job was told, newest first."""
    return domain.notices(job_id)


@resource.get("/jobs/<key:job_id>/notice-draft")
@resource.response(200, NoticeDraftOut())
def notice_draft(job_id: int) -> NoticeDraft:
    """Read what a notice would begin with: from the job's needs, the shelf, orders and suppliers."""
    return draft_notice(job_id)


@resource.post("/jobs/<key:job_id>/notices")
@resource.arguments(NoticeIn())
@resource.response(201, NOTICE, with_etag=False)
def give_notice(data: dict[str, Any], job_id: int) -> Any:
    """Keep what the customer of an open job is told; sending it is yours. A newer one stands in its place."""
    bench = current_settings()
    notice = domain.record_notice(
        job_id, **data, bench=bench.bench_name, currency=bench.currency, by=current_person().id
    )
    return notice, location_header("notice", notice.id)


@resource.get("/notices/<key:notice_id>")
@resource.response(200, NOTICE)
def notice(notice_id: int) -> NoticeRecord:
    """Read one notice."""
    return domain.notice(notice_id)


@resource.post("/notices/<key:notice_id>/answer")
@resource.arguments(NoticeAnswerIn())
@resource.response(200, NOTICE, with_etag=False)
def answer_notice(data: dict[str, Any], notice_id: int) -> NoticeRecord:
    """Note what the customer answered; the job goes on. Refused (409, not_newest) when a newer notice stands."""
    return domain.record_answer(notice_id, **data, by=current_person().id)
