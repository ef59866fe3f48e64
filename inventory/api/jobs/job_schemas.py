"""Jobs, what they need, and what might be wrong."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, EditSchema, ResponseSchema
from inventory.domain.common.validation import MAX_QUANTITY
from inventory.domain.jobs.jobs import STATUSES, TEXT_LIMITS


class JobFields(BodySchema):
    """What is noted of a job."""

    number = fields.Text("The shop's number for it; left out: the next one.", minimum=1, maximum=30, example="1042")
    unit_model = fields.Text("The model of the unit; a new one is added.", maximum=120, default="")
    unit_serial = fields.Text("The unit's serial number.", maximum=TEXT_LIMITS["unit_serial"], default="")
    customer = fields.Text("Whose it is.", maximum=TEXT_LIMITS["customer"], default="")
    symptom = fields.Text("What it does, or does not.", maximum=TEXT_LIMITS["symptom"], default="", example="no pan")
    note = fields.Text("What else to know.", maximum=TEXT_LIMITS["note"], default="")
    promised = fields.Date("When it was promised for.", nullable=True)


class JobIn(JobFields):
    """A job to be opened."""


class JobEdit(EditSchema, JobFields):
    """What to change of a job."""

    found = fields.Text("What it was.", maximum=TEXT_LIMITS["found"])
    waiting_for = fields.Text("What it waits for.", maximum=TEXT_LIMITS["waiting_for"])


class JobOut(ResponseSchema):
    """One customer's repair."""

    id = fields.Id("Its id.")
    code = fields.Text("What its label says.", example="JX4RC8J2W")
    number = fields.Text("The shop's number for it.")
    unit_model_id = fields.Id("The model of the unit.", nullable=True)
    unit_model = fields.Text("What that model is called.")
    unit_serial = fields.Text("The unit's serial number.")
    customer = fields.Text("Whose it is.")
    symptom = fields.Text("What it does, or does not.")
    status = fields.Text("How it stands.", choices=STATUSES)
    waiting_for = fields.Text("What it waits for.")
    opened = fields.DateTime("When it was opened.")
    promised = fields.Date("When it was promised for.", nullable=True)
    closed = fields.DateTime("When it was closed.", nullable=True)
    found = fields.Text("What it was.")
    note = fields.Text("What else to know.")
    version = fields.Integer("Counts its edits.")


class JobsQuery(PageQuery):
    """Which jobs to list."""

    find = fields.Text("Words that number, unit, customer, symptom or finding hold.", maximum=200)
    status = fields.Text("How they stand.", choices=(*STATUSES, "not closed"))


class JobWaitIn(BodySchema):
    """What a job waits for."""

    what = fields.Text("What it waits for.", minimum=1, maximum=300, required=True, example="24 V fan in the post")


class CloseJobIn(BodySchema):
    """What a job turned out to be."""

    found = fields.Text("What it was, in words.", maximum=TEXT_LIMITS["found"], default="")
    was = fields.List(fields.Id("A suspect of the job."), "The suspects that it was; the others are cleared.")
    something_else = fields.Boolean("It was something not on the list.", default=False)


class NeedIn(BodySchema):
    """How many of a part a job wants in all."""

    quantity = fields.Integer("In all, those already taken included.", minimum=1, required=True)


class NeedOut(ResponseSchema):
    """What a job wants of a part."""

    id = fields.Id("Its id.")
    job_id = fields.Id("The job.")
    part = fields.Nested(PartOut, "The part.")
    quantity = fields.Integer("How many it wants in all.")
    taken = fields.Integer("How many it has taken.", maximum=None)
    missing = fields.Integer("How many are still to be taken.")
    dropped = fields.Boolean("It does not want them after all.")
    on_shelf = fields.Integer("How many are on the shelf.", maximum=None)


class SuspectIn(BodySchema):
    """Something that might be wrong."""

    name = fields.Text("What it is.", minimum=1, maximum=120, required=True, example="pan motor driver")
    part_id = fields.Id("The part it is.", nullable=True)


class VerdictIn(BodySchema):
    """What a suspect turned out to be."""

    verdict = fields.Text("bad, good, or empty: not known.", choices=("", "bad", "good"), required=True)


class SuspectOut(ResponseSchema):
    """What might be wrong in a job."""

    id = fields.Id("Its id.")
    job_id = fields.Id("The job.")
    name = fields.Text("What it is.")
    part_id = fields.Id("The part it is.", nullable=True)
    verdict = fields.Text("bad, good, or empty: not known.", choices=("", "bad", "good"))
    at = fields.DateTime("When it was named.")
    mask = fields.BoundedNumber(
        "P(unit seen working | it is bad), if its fault comes and goes; else null.", nullable=True
    )


class IntermittentIn(BodySchema):
    """Whether a suspect's fault comes and goes."""

    mask = fields.BoundedNumber(
        "P(unit seen working | it is bad), from 0 to 0.99; null: as for any other fault.",
        maximum=0.99,
        nullable=True,
        required=True,
    )


class JobUseOut(ResponseSchema):
    """What a job took of a lot and did not put back."""

    part = fields.Nested(PartOut, "The part.")
    lot = fields.Nested(LotOut, "The lot.")
    quantity = fields.Integer("How many, in base units.", maximum=MAX_QUANTITY * 1000)
    cost_minor = fields.Integer("Its share of what the lot cost, in minor units.", maximum=None, nullable=True)


class LotUseOut(ResponseSchema):
    """How many of a lot a job has."""

    job = fields.Nested(JobOut, "The job.")
    quantity = fields.Integer("How many, in base units.", maximum=MAX_QUANTITY * 1000)
