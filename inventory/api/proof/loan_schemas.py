"""Loans for swap tests, and the spares to choose from."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema, QuerySchema
from inventory.domain.diagnosis.swap_tests import DEFAULT_LOAN_HOURS, MAX_LOAN_HOURS
from inventory.domain.proof.loans import SWAP_RESULTS
from inventory.domain.proof.proof_records import LoanEnded, LoanRecord, LoanStarted, SpareChoice


class LoanIn(BodySchema):
    """A piece to be taken for a swap test."""

    piece_id = fields.Id("The piece.", required=True)
    job_id = fields.Id("To this job.", required=True)
    suspect_id = fields.Id("In place of this suspect of the job.", nullable=True)
    hours = fields.Integer(
        "Due back after so many hours.", minimum=1, maximum=MAX_LOAN_HOURS, default=DEFAULT_LOAN_HOURS
    )
    hold_ok = fields.Boolean("Take it even if its lot is on hold.", default=False)
    note = fields.Text("What else to know.", maximum=1000, default="")


class EndLoanIn(BodySchema):
    """How a swap test ended."""

    result = fields.Text("What the unit did with it.", choices=SWAP_RESULTS, required=True)
    note = fields.Text("What else to know.", maximum=1000, default="")
    others_good = fields.BoundedNumber(
        "The chance that all else was good; left out: the job's log tells.", nullable=True
    )


class BringBackIn(EndLoanIn):
    """How a swap test ended, and where the piece goes."""

    bin_id = fields.Id("Into this bin; null: the one it came from.", nullable=True)


LoanOut = response_schema(LoanRecord)


class LoansQuery(PageQuery):
    """Which loans to list."""

    piece_id = fields.QueryId("Of this piece.")
    job_id = fields.QueryId("To this job.")
    open_ = fields.QueryBoolean("true: those that are out; false: those that ended.", data_key="open")


LoanStartedOut = response_schema(LoanStarted)
LoanEndedOut = response_schema(LoanEnded)


class SparesQuery(QuerySchema):
    """For what to find spares: one of these."""

    suspect_id = fields.QueryId("In place of this suspect.")
    part_id = fields.QueryId("For this part.")
    job_id = fields.QueryId("For the unit model of this job.")


SpareChoiceOut = response_schema(SpareChoice)
