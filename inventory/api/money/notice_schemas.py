"""What a customer is told of their repair, and what they answer."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from inventory.api import fields
from inventory.api.jobs.job_schemas import JobOut
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.money.notice_records import NoticeLine
from inventory.domain.money.notices import ANSWERS, MAX_LINES, MAX_PRICE_MINOR


class NoticeLineIn(BodySchema):
    """One thing that the repair needs or has had."""

    words = fields.Text("What it is, as the customer reads it.", maximum=200, required=True, example="a new fan")
    price_minor = fields.Integer("What the customer pays; null: to come.", maximum=MAX_PRICE_MINOR, nullable=True)

    @post_load
    def _as_line(self, data: dict[str, Any], **_: Any) -> NoticeLine:
        return NoticeLine(**data)


class NoticeIn(BodySchema):
    """What the customer is told."""

    found = fields.Text("What was found, in words that the customer understands.", maximum=2000, required=True)
    lines = fields.Nested(NoticeLineIn, f"What it takes, at most {MAX_LINES} lines.", many=True)
    work_minor = fields.Integer("What the work costs, in minor units.", maximum=MAX_PRICE_MINOR, default=0)
    ready = fields.Date("When it will be ready, if the customer agrees.", nullable=True)
    unsafe = fields.Boolean("The unit is not to be used as it is.", default=False)
    wait = fields.Boolean("The job then waits for the answer.", default=True)


class NoticeAnswerIn(BodySchema):
    """What the customer answered."""

    answer = fields.Text("The answer.", choices=ANSWERS, required=True)
    remark = fields.Text("In their words.", maximum=300, default="")
    drop_needs = fields.Boolean("If declined: what the job has not got yet, it does not want any more.", default=True)


class NoticeDraftLineOut(ResponseSchema):
    """A line to begin with."""

    words = fields.Text("What it is.")
    price_minor = fields.Integer("What the customer would pay, in minor units.", maximum=None, nullable=True)
    where = fields.Text("Where it would come from.")
    here = fields.Date("The day on which it would be here.")


class NoticeDraftOut(ResponseSchema):
    """What a notice begins with."""

    job = fields.Nested(JobOut, "The job.")
    found = fields.Text("What was found, as far as the job says.")
    lines = fields.Nested(NoticeDraftLineOut, "What it has had and needs.", many=True)
    work_minor = fields.Integer("What the work would cost, in minor units.", maximum=None)
    minutes = fields.Integer("The minutes that rests on.", maximum=None)
    ready = fields.Date("When it would be ready.")
    unsafe = fields.Boolean("Something at mains is needed: it is not to be used as it is.")


class NoticeLineOut(ResponseSchema):
    """One thing that the repair needs or has had."""

    words = fields.Text("What it is.")
    price_minor = fields.Integer(
        "What the customer pays, in minor units; null: to come.", maximum=None, nullable=True
    )


class NoticeOut(ResponseSchema):
    """A notice as it went out, and what was answered."""

    id = fields.Id("Its id.")
    job_id = fields.Id("The job.")
    job_number = fields.Text("What the job is called.")
    at = fields.DateTime("When it was made.")
    person = fields.Text("Who made it.")
    found = fields.Text("What was found.")
    lines = fields.Nested(NoticeLineOut, "What it takes.", many=True)
    work_minor = fields.Integer("What the work costs, in minor units.", maximum=None)
    total_minor = fields.Integer("All of it, as far as prices are known, in minor units.", maximum=None)
    ready = fields.Date("When it will be ready, if the customer agrees.", nullable=True)
    unsafe = fields.Boolean("The unit is not to be used as it is.")
    text = fields.Text("The notice word for word.")
    answer = fields.Text("What was answered; empty: nothing yet.", choices=("", *ANSWERS))
    answered = fields.DateTime("When that was noted.", nullable=True)
    answered_by = fields.Text("Who noted it.")
    remark = fields.Text("In the customer's words.")
    newest = fields.Boolean("No newer notice of the job went out.")
    version = fields.Integer("Counts its edits.", maximum=None)
