"""Jobs, what they need, and what might be wrong."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import body_schema, edit_schema, response_schema
from inventory.api.schema import BodySchema
from inventory.domain.common.described import text_limits
from inventory.domain.common.records import JOB_STATUSES, JobRecord, NeedRecord, SuspectRecord
from inventory.domain.movements.overview import JobQuantity, LotUsedByJob

JobOut = response_schema(JobRecord)
JobIn = body_schema(JobRecord)
JobEdit = edit_schema(JobRecord)


class JobsQuery(PageQuery):
    """Which jobs to list."""

    find = fields.Text("Words that number, unit, customer, symptom or finding hold.", maximum=200)
    status = fields.Text("How they stand.", choices=(*JOB_STATUSES, "not closed"))


class JobWaitIn(BodySchema):
    """What a job waits for."""

    what = fields.Text("What it waits for.", minimum=1, maximum=300, required=True, example="24 V fan in the post")


class CloseJobIn(BodySchema):
    """What a job turned out to be."""

    found = fields.Text("What it was, in words.", maximum=text_limits(JobRecord)["found"], default="")
    was = fields.List(fields.Id("A suspect of the job."), "The suspects that it was; the others are cleared.")
    something_else = fields.Boolean("It was something not on the list.", default=False)


class NeedIn(BodySchema):
    """How many of a part a job wants in all."""

    quantity = fields.Integer("In all, those already taken included.", minimum=1, required=True)


NeedOut = response_schema(NeedRecord, "missing")
SuspectIn = body_schema(SuspectRecord)


class VerdictIn(BodySchema):
    """What a suspect turned out to be."""

    verdict = fields.Text("bad, good, or empty: not known.", choices=("", "bad", "good"), required=True)


SuspectOut = response_schema(SuspectRecord)


class IntermittentIn(BodySchema):
    """Whether a suspect's fault comes and goes."""

    mask = fields.BoundedNumber(
        "P(unit seen working | it is bad), from 0 to 0.99; null: as for any other fault.",
        maximum=0.99,
        nullable=True,
        required=True,
    )


JobUseOut = response_schema(LotUsedByJob, name="JobUseOut")
LotUseOut = response_schema(JobQuantity, name="LotUseOut")
