"""Notices to customers: what was found, what else the unit needs, what that costs, when it will be ready.

A notice is kept word for word as it went out. A later one of the same job stands in its place; only the newest can
be answered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, invalid_field
from inventory.domain.common.records import from_row
from inventory.domain.common.validation import (
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
    validated_money,
    validated_year,
)
from inventory.domain.jobs import jobs
from inventory.domain.money.notice_records import ANSWERS, NoticeLine, NoticeRecord
from inventory.store.connection import transaction
from inventory.store.queries import filter_by
from inventory.store.tables import Job, Need, Notice, Person
from shared.quantities import format_money

WAITING_FOR_ANSWER = "the customer's answer"
MAX_LINES, MAX_PRICE_MINOR, MAX_READY_AHEAD = 30, 1_000_000_000, timedelta(days=730)


def record_notice(
    job_id: int, *, found: str, lines: Sequence[NoticeLine] = (), work_minor: int = 0, ready: date | None = None,
    unsafe: bool = False, wait: bool = True, bench: str = "", currency: str = "EUR", by: int | None = None,
) -> NoticeRecord:  # fmt: skip
    """Save what the customer of an open job is told, as it goes out.

    Prices are what the customer pays, in minor units of *currency*. *unsafe*: the unit is not to be used as it is.
    *wait*: the job then waits for the answer. Raises Invalid naming what is off, Conflict for a closed job.
    """
    with transaction():
        job = jobs.job(jobs.get_open_job(job_id).id)
        said = clean_text(found, "found", 2000, required=True)
        valid_lines = _validated_lines(lines)
        validated_money(work_minor, "work_minor", MAX_PRICE_MINOR)
        day = _validated_ready(ready)
        total = work_minor + sum(line.price_minor or 0 for line in valid_lines)
        text = _notice_text(job, said, valid_lines, work_minor, day, unsafe, bench, currency)
        row = Notice.create(
            job=job_id, at=clock.now(), person=by, found=said, lines=[asdict(line) for line in valid_lines],
            work_minor=work_minor, total_minor=total, ready=day, unsafe=unsafe, text=text,
        )  # fmt: skip
        if wait:
            jobs.mark_waiting(job_id, WAITING_FOR_ANSWER)
        return _record(row)


def _validated_lines(lines: Sequence[NoticeLine]) -> list[NoticeLine]:
    if len(lines) > MAX_LINES:
        raise invalid_field("lines", f"Those are {len(lines)} lines: put some together, at most {MAX_LINES}.")
    valid_lines = []
    for line in lines:
        if line.price_minor is not None:
            validated_money(line.price_minor, "lines", MAX_PRICE_MINOR)
        valid_lines.append(NoticeLine(clean_text(line.words, "lines", 200, required=True), line.price_minor))
    return valid_lines


def _validated_ready(ready: date | None) -> date | None:
    validated_year(ready, "ready")
    if ready is not None and not clock.today() <= ready <= clock.today() + MAX_READY_AHEAD:
        raise invalid_field(
            "ready", f"{ready} cannot be when it is ready: choose a day from today on, within two years."
        )
    return ready


# ---- in words --------------------------------------------------------------------------------------------


def _notice_text(
    job: Any, found: str, lines: Sequence[NoticeLine], work_minor: int, ready: date | None, unsafe: bool, bench: str,
    currency: str,
) -> str:  # fmt: skip
    unit = ", ".join(filter(None, (job.unit_model, job.unit_serial and f"serial {job.unit_serial}")))
    parts = [f"Your repair {job.number}{f': {unit}' if unit else ''}", f"What we found\n{found}"]
    if unsafe:
        parts.append("Please do not use it as it is: it is not safe. It must not be plugged in until it is mended.")
    parts.append(_cost_text(lines, work_minor, currency))
    if ready is not None:
        parts.append(f"If you agree now, it will most likely be ready on {ready.day} {ready:%B %Y}.")
    parts.append("Please tell us: shall we go ahead, or do you want it back as it is?")
    parts.append("\n".join(filter(None, (bench, f"{clock.now():%d %B %Y}".lstrip("0")))))
    return "\n\n".join(part for part in parts if part) + "\n"


def _cost_text(lines: Sequence[NoticeLine], work_minor: int, currency: str) -> str:
    """Return the costs line by line; with a price not known yet, the sum is a minimum."""
    rows = [(line.words, line.price_minor) for line in lines] + ([("Work", work_minor)] if work_minor else [])
    if not rows:
        return ""
    items = [
        f"- {label}: {'price to come' if price is None else format_money(price, currency)}" for label, price in rows
    ]
    total = format_money(sum(price or 0 for _, price in rows), currency)
    at_least = "at least " if any(price is None for _, price in rows) else ""
    return "\n".join(["What it takes", *items, f"Together: {at_least}{total}"])


# ---- the answer ------------------------------------------------------------------------------------------


def record_answer(
    notice_id: int, answer: str, *, remark: str = "", drop_needs: bool = True, version: int | None = None,
    by: int | None = None,
) -> NoticeRecord:  # fmt: skip
    """Record the customer's answer: agreed or declined. A job that waited for it is resumed.

    Declined with *drop_needs*: the job's open needs are dropped, so that nothing is ordered or kept for it. Recorded
    again, an answer is corrected. Raises Conflict when a newer notice stands.
    """
    validated_choice(answer, "answer", ANSWERS)
    with transaction():
        row = get_row(Notice, notice_id, "notice")
        if not _is_newest(row):
            raise Conflict("A newer notice of this job went out: note the answer to that one.", reason="not_newest")
        clean_remark = clean_text(remark, "remark", 300)
        update_versioned(
            row, "notice", version, answer=answer, answered=clock.now(), answered_by=by, remark=clean_remark
        )
        _resume_job(row.job_id, answer == "declined" and drop_needs)
        return notice(notice_id)


def _resume_job(job_id: int, drop_needs: bool) -> None:
    job = get_row(Job, job_id, "job")
    if job.status == "waiting" and job.waiting_for == WAITING_FOR_ANSWER:
        jobs.reopen_job(job_id)
    if drop_needs:
        for need in filter_by(Need, job=job_id):
            if need.quantity > need.taken and not need.dropped:
                jobs.drop_need(need.id)


# ---- reading ---------------------------------------------------------------------------------------------


def notice(notice_id: int) -> NoticeRecord:
    """Return one notice."""
    return _record(get_row(Notice, notice_id, "notice"))


def notices(job_id: int) -> list[NoticeRecord]:
    """Return what the customer of a job was told, the newest first."""
    get_row(Job, job_id, "job")
    return [_record(row) for row in reversed(filter_by(Notice, job=job_id))]


def _is_newest(row: Any) -> bool:
    return not Notice.select().where(Notice.job == row.job_id, Notice.id > row.id).exists()


def _record(row: Any) -> NoticeRecord:
    return from_row(
        NoticeRecord, row, job_number=get_row(Job, row.job_id, "job").number, person=_person_name(row.person_id),
        lines=tuple(NoticeLine(**line) for line in row.lines), unsafe=bool(row.unsafe),
        answered_by=_person_name(row.answered_by_id), newest=_is_newest(row),
    )  # fmt: skip


def _person_name(person_id: int | None) -> str:
    return "" if person_id is None else str(get_row(Person, person_id, "person").shown_as)
