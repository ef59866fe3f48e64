"""Loans for swap tests, and the spares to choose from."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import CautionOut, PieceStatusOut, ProofOut, StandingOut
from inventory.api.schema import BodySchema, QuerySchema, ResponseSchema
from inventory.domain.diagnosis.swap_tests import DEFAULT_LOAN_HOURS, MAX_LOAN_HOURS
from inventory.domain.proof.loans import SWAP_RESULTS


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


class LoanOut(ResponseSchema):
    """A piece that is or was out to a job for a swap test."""

    id = fields.Id("Its id.")
    piece_id = fields.Id("The piece.")
    piece_code = fields.Text("What the piece's label says.")
    piece_name = fields.Text("What the bench calls it.")
    part_id = fields.Id("The part it is one of.")
    part_name = fields.Text("What the part is called.")
    job_id = fields.Id("To this job.")
    job_number = fields.Text("That job's number.")
    suspect_id = fields.Id("In place of this suspect.", nullable=True)
    suspect = fields.Text("What the suspect is called.")
    bin_id = fields.Id("Where it was taken from.")
    bin_name = fields.Text("What that bin is called.")
    p_good = fields.BoundedNumber("The chance that it was good, when it was taken.")
    standing = fields.Text("Its standing then.")
    taken = fields.DateTime("When it was taken.")
    taken_by = fields.Text("Who took it.")
    due = fields.DateTime("When it is due back.")
    ended = fields.DateTime("When it ended; null: it is out.", nullable=True)
    ended_by = fields.Text("Who ended it.")
    result = fields.Text("What the unit did with it; cancelled; empty while it is out.")
    stayed = fields.Boolean("It stayed fitted.")
    others_good = fields.BoundedNumber("The chance that all else was good.", nullable=True)
    proof_id = fields.Id("The proof that followed.", nullable=True)
    note = fields.Text("What else to know.")
    overdue = fields.Boolean("It should be back by now.")


class LoansQuery(PageQuery):
    """Which loans to list."""

    piece_id = fields.QueryId("Of this piece.")
    job_id = fields.QueryId("To this job.")
    open_ = fields.QueryBoolean("true: those that are out; false: those that ended.", data_key="open")


class LoanStartedOut(ResponseSchema):
    """A piece that went out."""

    loan = fields.Nested(LoanOut, "The loan.")
    sentence = fields.Text("What was done, for people.")
    standing = fields.Nested(StandingOut, "How far it can be trusted.")
    warnings = fields.List(ma.String(), "What speaks against relying on it.")
    cautions = fields.Nested(CautionOut, "What to mind.", many=True)


class LoanEndedOut(ResponseSchema):
    """A loan that ended, and what that did to the piece's standing."""

    loan = fields.Nested(LoanOut, "The loan.")
    sentence = fields.Text("What was done, for people.")
    before = fields.Nested(StandingOut, "The standing before.")
    after = fields.Nested(StandingOut, "The standing now.")
    proof = fields.Nested(ProofOut, "That it ran in this job's unit.", nullable=True)
    entry = fields.Integer(
        "The entry of the ledger, if it changed its bin or stayed fitted.", maximum=None, nullable=True
    )
    warnings = fields.List(ma.String(), "What to watch.")


class SparesQuery(QuerySchema):
    """For what to find spares: one of these."""

    suspect_id = fields.QueryId("In place of this suspect.")
    part_id = fields.QueryId("For this part.")
    job_id = fields.QueryId("For the unit model of this job.")


class SpareOptionOut(ResponseSchema):
    """A piece that could stand in."""

    seen = fields.Nested(PieceStatusOut, "The piece.")
    how = fields.Text("How it fits.")
    free = fields.Boolean("It can be taken now.")


class SpareChoiceOut(ResponseSchema):
    """The pieces that could stand in, best first."""

    sentence = fields.Text("The same in a sentence.")
    options = fields.Nested(SpareOptionOut, "The pieces.", many=True)
