"""What a customer is told of their repair, and what they answer."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from inventory.api import fields
from inventory.api.jobs.job_schemas import JobOut
from inventory.api.schema import Answer, Body
from inventory.domain.money.notice_records import NoticeLine
from inventory.domain.money.notices import ANSWERS, MOST_LINES, MOST_MINOR


class NoticeLineIn(Body):
    """One thing that the repair needs or has had."""

    words = fields.Text("What it is, as the customer reads it.", most=200, required=True, example="a new fan")
    price_minor = fields.Whole("What the customer pays; null: to come.", most=MOST_MINOR, nullable=True)

    @post_load
    def _as_line(self, data: dict[str, Any], **_: Any) -> NoticeLine:
        return NoticeLine(**data)


class NoticeIn(Body):
    """What the customer is told."""

    found = fields.Text("What was found, in words that the customer understands.", most=2000, required=True)
    lines = fields.Inner(NoticeLineIn, f"What it takes, at most {MOST_LINES} lines.", many=True)
    work_minor = fields.Whole("What the work costs, in minor units.", most=MOST_MINOR, default=0)
    ready = fields.Day("When it will be ready, if the customer agrees.", nullable=True)
    unsafe = fields.Flag("The unit is not to be used as it is.", default=False)
    wait = fields.Flag("The job then waits for the answer.", default=True)


class AnswerIn(Body):
    """What the customer answered."""

    answer = fields.Text("The answer.", words=ANSWERS, required=True)
    remark = fields.Text("In their words.", most=300, default="")
    drop_needs = fields.Flag("If declined: what the job has not got yet, it does not want any more.", default=True)


class DraftLineOut(Answer):
    """A line to begin with."""

    words = fields.Text("What it is.")
    price_minor = fields.Whole("What the customer would pay, in minor units.", most=None, nullable=True)
    where = fields.Text("Where it would come from.")
    here = fields.Day("The day on which it would be here.")


class NoticeDraftOut(Answer):
    """What a notice begins with."""

    job = fields.Inner(JobOut, "The job.")
    found = fields.Text("What was found, as far as the job says.")
    lines = fields.Inner(DraftLineOut, "What it has had and needs.", many=True)
    work_minor = fields.Whole("What the work would cost, in minor units.", most=None)
    minutes = fields.Whole("The minutes that rests on.", most=None)
    ready = fields.Day("When it would be ready.")
    unsafe = fields.Flag("Something at mains is needed: it is not to be used as it is.")


class NoticeLineOut(Answer):
    """One thing that the repair needs or has had."""

    words = fields.Text("What it is.")
    price_minor = fields.Whole("What the customer pays, in minor units; null: to come.", most=None, nullable=True)


class NoticeOut(Answer):
    """A notice as it went out, and what was answered."""

    id = fields.Ident("Its id.")
    job_id = fields.Ident("The job.")
    job_number = fields.Text("What the job is called.")
    at = fields.Moment("When it was made.")
    person = fields.Text("Who made it.")
    found = fields.Text("What was found.")
    lines = fields.Inner(NoticeLineOut, "What it takes.", many=True)
    work_minor = fields.Whole("What the work costs, in minor units.", most=None)
    total_minor = fields.Whole("All of it, as far as prices are known, in minor units.", most=None)
    ready = fields.Day("When it will be ready, if the customer agrees.", nullable=True)
    unsafe = fields.Flag("The unit is not to be used as it is.")
    text = fields.Text("The notice word for word.")
    answer = fields.Text("What was answered; empty: nothing yet.", words=("", *ANSWERS))
    answered = fields.Moment("When that was noted.", nullable=True)
    answered_by = fields.Text("Who noted it.")
    remark = fields.Text("In the customer's words.")
    newest = fields.Flag("No newer notice of the job went out.")
    version = fields.Whole("Counts its edits.", most=None)
