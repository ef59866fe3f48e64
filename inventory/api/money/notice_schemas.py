"""What a customer is told of their repair, and what they answer."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from inventory.api import fields
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema
from inventory.domain.money.notice_records import ANSWERS, NoticeDraft, NoticeLine, NoticeRecord
from inventory.domain.money.notices import MAX_LINES, MAX_PRICE_MINOR


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


NoticeDraftOut = response_schema(NoticeDraft)
NoticeOut = response_schema(NoticeRecord)
