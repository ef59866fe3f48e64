"""Plain records of what a customer is told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from inventory.domain.common.described import About
from inventory.domain.common.records import JobRecord

ANSWERS = ("agreed", "declined")


@dataclass(frozen=True)
class NoticeLine:
    """One thing that a repair needs or has had, as the customer reads it. ``price_minor``: None, not known yet."""

    words: Annotated[str, "What it is."]
    price_minor: Annotated[
        int | None, About("What the customer pays, in minor units; null: to come.", maximum=None)
    ] = None


@dataclass(frozen=True)
class NoticeDraftLine:
    """A line to begin with: where it would come from, in words, and the day on which it would be here."""

    words: Annotated[str, "What it is."]
    price_minor: Annotated[int | None, About("What the customer would pay, in minor units.", maximum=None)]
    where: Annotated[str, "Where it would come from."]
    here: Annotated[date, "The day on which it would be here."]


@dataclass(frozen=True)
class NoticeDraft:
    """What a notice begins with, all of it to be changed before it goes out."""

    job: Annotated[JobRecord, "The job."]
    found: Annotated[str, "What was found, as far as the job says."]
    lines: Annotated[tuple[NoticeDraftLine, ...], "What it has had and needs."]
    work_minor: Annotated[int, About("What the work would cost, in minor units.", maximum=None)]
    minutes: Annotated[int, About("The minutes that rests on.", maximum=None)]
    ready: Annotated[date, "When it would be ready."]
    unsafe: Annotated[bool, "Something at mains is needed: it is not to be used as it is."]


@dataclass(frozen=True)
class NoticeRecord:
    """A notice as it went out, and what the customer answered ("" none yet, agreed, declined)."""

    id: Annotated[int, "Its id."]
    job_id: Annotated[int, "The job."]
    job_number: Annotated[str, "What the job is called."]
    at: Annotated[datetime, "When it was made."]
    person: Annotated[str, "Who made it."]
    found: Annotated[str, "What was found."]
    lines: Annotated[tuple[NoticeLine, ...], "What it takes."]
    work_minor: Annotated[int, About("What the work costs, in minor units.", maximum=None)]
    total_minor: Annotated[int, About("All of it, as far as prices are known, in minor units.", maximum=None)]
    ready: Annotated[date | None, "When it will be ready, if the customer agrees."]
    unsafe: Annotated[bool, "The unit is not to be used as it is."]
    text: Annotated[str, "The notice word for word."]
    answer: Annotated[str, About("What was answered; empty: nothing yet.", choices=("", *ANSWERS))]
    answered: Annotated[datetime | None, "When that was noted."]
    answered_by: Annotated[str, "Who noted it."]
    remark: Annotated[str, "In the customer's words."]
    newest: Annotated[bool, "No newer notice of the job went out."]
    version: Annotated[int, About("Counts its edits.", maximum=None)]
