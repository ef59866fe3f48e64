"""What to tell the customer: what was found, what else the unit needs, what that costs, when it will be ready.

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
    """Keep what the customer of an open job is told, worded as it goes out.

    Prices are what the customer pays, in minor units of *currency*. *unsafe*: the unit is not to be used as it is.
    *wait*: the job then waits for the answer. Raises Invalid naming what is off, Conflict for a closed job.
    """
    with transaction():
        job = jobs.job(jobs.get_open_job(job_id).id)
        said = clean_text(found, "found", 2000, required=True)
        kept = _validated_lines(lines)
        validated_money(work_minor, "work_minor", MAX_PRICE_MINOR)
        day = _validated_ready(ready)
        total = work_minor + sum(one.price_minor or 0 for one in kept)
        text = _notice_text(job, said, kept, work_minor, day, unsafe, bench, currency)
        made = Notice.create(
            job=job_id, at=clock.now(), person=by, found=said, lines=[asdict(one) for one in kept],
            work_minor=work_minor, total_minor=total, ready=day, unsafe=unsafe, text=text,
        )  # fmt: skip
        if wait:
            jobs.mark_waiting(job_id, WAITING_FOR_ANSWER)
        return _record(made)


def _validated_lines(lines: Sequence[NoticeLine]) -> list[NoticeLine]:
    if len(lines) > MAX_LINES:
        raise invalid_field("lines", f"Those are {len(lines)} lines: put some together, at most {MAX_LINES}.")
    kept = []
    for line in lines:
        if line.price_minor is not None:
            validated_money(line.price_minor, "lines", MAX_PRICE_MINOR)
        kept.append(NoticeLine(clean_text(line.words, "lines", 200, required=True), line.price_minor))
    return kept


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
    """Say what it costs, line by line; a price that is not known yet is said so, and the sum is then a least."""
    rows = [(line.words, line.price_minor) for line in lines] + ([("Work", work_minor)] if work_minor else [])
    if not rows:
        return ""
    said = [f"- {words}: {'price to come' if p is None else format_money(p, currency)}" for words, p in rows]
    total = format_money(sum(price or 0 for _, price in rows), currency)
    least = "at least " if any(price is None for _, price in rows) else ""
    return "\n".join(["What it takes", *said, f"Together: {least}{total}"])


# ---- the answer ------------------------------------------------------------------------------------------


def record_answer(
    notice_id: int, answer: str, *, remark: str = "", drop_needs: bool = True, version: int | None = None,
    by: int | None = None,
) -> NoticeRecord:  # fmt: skip
    """Note what the customer answered: agreed or declined. A job that waited for it goes on.

    Declined and *drop_needs*: what the job has not got yet, it does not want any more, so that nothing is ordered or
    kept for it. Noted again, an answer is corrected. Raises Conflict when a newer notice stands.
    """
    validated_choice(answer, "answer", ANSWERS)
    with transaction():
        found = get_row(Notice, notice_id, "notice")
        if not _is_newest(found):
            raise Conflict("A newer notice of this job went out: note the answer to that one.", reason="not_newest")
        said = clean_text(remark, "remark", 300)
        update_versioned(found, "notice", version, answer=answer, answered=clock.now(), answered_by=by, remark=said)
        _resume_job(found.job_id, answer == "declined" and drop_needs)
        return notice(notice_id)


def _resume_job(job_id: int, drop_needs: bool) -> None:
    job = get_row(Job, job_id, "job")
    if job.status == "waiting" and job.waiting_for == WAITING_FOR_ANSWER:
        jobs.reopen_job(job_id)
    if drop_needs:
        for one in filter_by(Need, job=job_id):
            if one.quantity > one.taken and not one.dropped:
                jobs.drop_need(one.id)


# ---- reading ---------------------------------------------------------------------------------------------


def notice(notice_id: int) -> NoticeRecord:
    """Return one notice."""
    return _record(get_row(Notice, notice_id, "notice"))


def notices(job_id: int) -> list[NoticeRecord]:
    """Return what the customer of a job was told, the newest first."""
    get_row(Job, job_id, "job")
    return [_record(one) for one in reversed(filter_by(Notice, job=job_id))]


def _is_newest(found: Any) -> bool:
    return not Notice.select().where(Notice.job == found.job_id, Notice.id > found.id).exists()


def _record(found: Any) -> NoticeRecord:
    return NoticeRecord(
        found.id,
        found.job_id,
        get_row(Job, found.job_id, "job").number,
        found.at,
        _person_name(found.person_id),
        found.found,
        tuple(NoticeLine(**line) for line in found.lines),
        found.work_minor,
        found.total_minor,
        found.ready,
        bool(found.unsafe),
        found.text,
        found.answer,
        found.answered,
        _person_name(found.answered_by_id),
        found.remark,
        _is_newest(found),
        found.version,
    )


def _person_name(person_id: int | None) -> str:
    return "" if person_id is None else str(get_row(Person, person_id, "person").shown_as)
