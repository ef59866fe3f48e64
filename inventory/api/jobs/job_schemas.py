"""Jobs, what they need, and what might be wrong."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Edit
from inventory.domain.common.validation import MOST
from inventory.domain.jobs.jobs import STATUSES, TEXTS


class JobFields(Body):
    """What is noted of a job."""

    number = fields.Text("The shop's number for it; left out: the next one.", least=1, most=30, example="1042")
    unit_model = fields.Text("The model of the unit; a new one is added.", most=120, default="")
    unit_serial = fields.Text("The unit's serial number.", most=TEXTS["unit_serial"], default="")
    customer = fields.Text("Whose it is.", most=TEXTS["customer"], default="")
    symptom = fields.Text("What it does, or does not.", most=TEXTS["symptom"], default="", example="no pan")
    note = fields.Text("What else to know.", most=TEXTS["note"], default="")
    promised = fields.Day("When it was promised for.", nullable=True)


class JobIn(JobFields):
    """A job to be opened."""


class JobEdit(Edit, JobFields):
    """What to change of a job."""

    found = fields.Text("What it was.", most=TEXTS["found"])
    waiting_for = fields.Text("What it waits for.", most=TEXTS["waiting_for"])


class JobOut(Answer):
    """One customer's repair."""

    id = fields.Ident("Its id.")
    code = fields.Text("What its label says.", example="JX4RC8J2W")
    number = fields.Text("The shop's number for it.")
    unit_model_id = fields.Ident("The model of the unit.", nullable=True)
    unit_model = fields.Text("What that model is called.")
    unit_serial = fields.Text("The unit's serial number.")
    customer = fields.Text("Whose it is.")
    symptom = fields.Text("What it does, or does not.")
    status = fields.Text("How it stands.", words=STATUSES)
    waiting_for = fields.Text("What it waits for.")
    opened = fields.Moment("When it was opened.")
    promised = fields.Day("When it was promised for.", nullable=True)
    closed = fields.Moment("When it was closed.", nullable=True)
    found = fields.Text("What it was.")
    note = fields.Text("What else to know.")
    version = fields.Whole("Counts its edits.")


class JobsQuery(PageQuery):
    """Which jobs to list."""

    find = fields.Text("Words that number, unit, customer, symptom or finding hold.", most=200)
    status = fields.Text("How they stand.", words=(*STATUSES, "not closed"))


class WaitIn(Body):
    """What a job waits for."""

    what = fields.Text("What it waits for.", least=1, most=300, required=True, example="24 V fan in the post")


class CloseIn(Body):
    """What a job turned out to be."""

    found = fields.Text("What it was, in words.", most=TEXTS["found"], default="")
    was = fields.Many(fields.Ident("A suspect of the job."), "The suspects that it was; the others are cleared.")
    something_else = fields.Flag("It was something not on the list.", default=False)


class NeedIn(Body):
    """How many of a part a job wants in all."""

    quantity = fields.Whole("In all, those already taken included.", least=1, required=True)


class NeedOut(Answer):
    """What a job wants of a part."""

    id = fields.Ident("Its id.")
    job_id = fields.Ident("The job.")
    part = fields.Inner(PartOut, "The part.")
    quantity = fields.Whole("How many it wants in all.")
    taken = fields.Whole("How many it has taken.", most=None)
    missing = fields.Whole("How many are still to be taken.")
    dropped = fields.Flag("It does not want them after all.")
    on_shelf = fields.Whole("How many are on the shelf.", most=None)


class SuspectIn(Body):
    """Something that might be wrong."""

    name = fields.Text("What it is.", least=1, most=120, required=True, example="pan motor driver")
    part_id = fields.Ident("The part it is.", nullable=True)


class VerdictIn(Body):
    """What a suspect turned out to be."""

    verdict = fields.Text("bad, good, or empty: not known.", words=("", "bad", "good"), required=True)


class SuspectOut(Answer):
    """What might be wrong in a job."""

    id = fields.Ident("Its id.")
    job_id = fields.Ident("The job.")
    name = fields.Text("What it is.")
    part_id = fields.Ident("The part it is.", nullable=True)
    verdict = fields.Text("bad, good, or empty: not known.", words=("", "bad", "good"))
    at = fields.Moment("When it was named.")
    mask = fields.Share("P(unit seen working | it is bad), if its fault comes and goes; else null.", nullable=True)


class MaskIn(Body):
    """Whether a suspect's fault comes and goes."""

    mask = fields.Share(
        "P(unit seen working | it is bad), from 0 to 0.99; null: as for any other fault.",
        most=0.99,
        nullable=True,
        required=True,
    )


class JobUseOut(Answer):
    """What a job took of a lot and did not put back."""

    part = fields.Inner(PartOut, "The part.")
    lot = fields.Inner(LotOut, "The lot.")
    quantity = fields.Whole("How many, in base units.", most=MOST * 1000)
    cost_minor = fields.Whole("Its share of what the lot cost, in minor units.", most=None, nullable=True)


class LotUseOut(Answer):
    """How many of a lot a job has."""

    job = fields.Inner(JobOut, "The job.")
    quantity = fields.Whole("How many, in base units.", most=MOST * 1000)
