"""Plain records of what a customer is told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from inventory.domain.common.records import JobRecord


@dataclass(frozen=True)
class NoticeLine:
    """One thing that a repair needs or has had, as the customer reads it. ``price_minor``: None, not known yet."""

    words: str
    price_minor: int | None = None


@dataclass(frozen=True)
class DraftLine:
    """A line to begin with: where it would come from, in words, and the day on which it would be here."""

    words: str
    price_minor: int | None
    where: str
    here: date


@dataclass(frozen=True)
class NoticeDraft:
    """What a notice begins with, all of it to be changed before it goes out."""

    job: JobRecord
    found: str
    lines: tuple[DraftLine, ...]
    work_minor: int
    minutes: int
    ready: date
    unsafe: bool  # something at mains is wrong: to begin with, it is not to be used as it is


@dataclass(frozen=True)
class NoticeRecord:
    """A notice as it went out, and what the customer answered ("" none yet, agreed, declined)."""

    id: int
    job_id: int
    job_number: str
    at: datetime
    person: str
    found: str
    lines: tuple[NoticeLine, ...]
    work_minor: int
    total_minor: int
    ready: date | None
    unsafe: bool
    text: str
    answer: str
    answered: datetime | None
    answered_by: str
    remark: str
    newest: bool  # of its job; a newer one stands in its place
    version: int
