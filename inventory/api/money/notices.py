"""/jobs/{job_id}/notices, /notices: what a customer is told of their repair, and what they answer."""

from __future__ import annotations

from typing import Any

from flask import current_app

from inventory.api.money.notice_schemas import AnswerIn, NoticeDraftOut, NoticeIn, NoticeOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.domain.jobs import jobs
from inventory.domain.money import notices as stock
from inventory.domain.money.notice_draft import draft
from inventory.domain.money.notice_records import NoticeDraft, NoticeRecord
from inventory.web.access import caller

resource = Resource("notices", "What a customer is told: what was found, what it takes and costs, when it is ready.")
NOTICE = NoticeOut()


@resource.get("/jobs/<key:job_id>/notices")
@resource.arguments(PageQuery(), location="query")
@resource.listed(NOTICE, key=lambda one: -one.id, of=jobs.job)
def notices(asked: dict[str, Any], job_id: int) -> list[NoticeRecord]:
    """List what the customer of a job was told, newest first."""
    return stock.notices(job_id)


@resource.get("/jobs/<key:job_id>/notice-draft")
@resource.response(200, NoticeDraftOut())
def notice_draft(job_id: int) -> NoticeDraft:
    """Read what a notice would begin with: from the job's needs, the shelf, orders and suppliers."""
    return draft(job_id)


@resource.post("/jobs/<key:job_id>/notices")
@resource.arguments(NoticeIn())
@resource.response(201, NOTICE, entity=False)
def give_notice(given: dict[str, Any], job_id: int) -> Any:
    """Keep what the customer of an open job is told; sending it is yours. A newer one stands in its place."""
    bench = current_app.config["BENCH"]
    made = stock.give(job_id, **given, bench=bench.bench_name, currency=bench.currency, by=caller().id)
    return made, at("notice", made.id)


@resource.get("/notices/<key:notice_id>")
@resource.response(200, NOTICE)
def notice(notice_id: int) -> NoticeRecord:
    """Read one notice."""
    return stock.notice(notice_id)


@resource.post("/notices/<key:notice_id>/answer")
@resource.arguments(AnswerIn())
@resource.response(200, NOTICE, entity=False)
def answer_notice(given: dict[str, Any], notice_id: int) -> NoticeRecord:
    """Note what the customer answered; the job goes on. Refused (409, not_newest) when a newer notice stands."""
    return stock.take_answer(notice_id, **given, by=caller().id)
