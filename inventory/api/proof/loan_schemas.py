"""Loans for swap tests, and the spares to choose from."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import CautionOut, PieceSeenOut, ProofOut, StandingOut
from inventory.api.schema import Answer, Body, Query
from inventory.domain.diagnosis.swap_tests import HOURS, MOST_HOURS, RESULTS


class LoanIn(Body):
    """A piece to be taken for a swap test."""

    piece_id = fields.Ident("The piece.", required=True)
    job_id = fields.Ident("To this job.", required=True)
    suspect_id = fields.Ident("In place of this suspect of the job.", nullable=True)
    hours = fields.Whole("Due back after so many hours.", least=1, most=MOST_HOURS, default=HOURS)
    hold_ok = fields.Flag("Take it even if its lot is on hold.", default=False)
    note = fields.Text("What else to know.", most=1000, default="")


class EndIn(Body):
    """How a swap test ended."""

    result = fields.Text("What the unit did with it.", words=RESULTS, required=True)
    note = fields.Text("What else to know.", most=1000, default="")
    others_good = fields.Share("The chance that all else was good; left out: the job's log tells.", nullable=True)


class BringBackIn(EndIn):
    """How a swap test ended, and where the piece goes."""

    bin_id = fields.Ident("Into this bin; null: the one it came from.", nullable=True)


class LoanOut(Answer):
    """A piece that is or was out to a job for a swap test."""

    id = fields.Ident("Its id.")
    piece_id = fields.Ident("The piece.")
    piece_code = fields.Text("What the piece's label says.")
    piece_name = fields.Text("What the bench calls it.")
    part_id = fields.Ident("The part it is one of.")
    part_name = fields.Text("What the part is called.")
    job_id = fields.Ident("To this job.")
    job_number = fields.Text("That job's number.")
    suspect_id = fields.Ident("In place of this suspect.", nullable=True)
    suspect = fields.Text("What the suspect is called.")
    bin_id = fields.Ident("Where it was taken from.")
    bin_name = fields.Text("What that bin is called.")
    p_good = fields.Share("The chance that it was good, when it was taken.")
    standing = fields.Text("Its standing then.")
    taken = fields.Moment("When it was taken.")
    taken_by = fields.Text("Who took it.")
    due = fields.Moment("When it is due back.")
    ended = fields.Moment("When it ended; null: it is out.", nullable=True)
    ended_by = fields.Text("Who ended it.")
    result = fields.Text("What the unit did with it; cancelled; empty while it is out.")
    stayed = fields.Flag("It stayed fitted.")
    others_good = fields.Share("The chance that all else was good.", nullable=True)
    proof_id = fields.Ident("The proof that followed.", nullable=True)
    note = fields.Text("What else to know.")
    overdue = fields.Flag("It should be back by now.")


class LoansQuery(PageQuery):
    """Which loans to list."""

    piece_id = fields.AskedIdent("Of this piece.")
    job_id = fields.AskedIdent("To this job.")
    open_ = fields.AskedFlag("true: those that are out; false: those that ended.", data_key="open")


class LentOut(Answer):
    """A piece that went out."""

    loan = fields.Inner(LoanOut, "The loan.")
    sentence = fields.Text("What was done, for people.")
    standing = fields.Inner(StandingOut, "How far it can be trusted.")
    warnings = fields.Many(ma.String(), "What speaks against relying on it.")
    cautions = fields.Inner(CautionOut, "What to mind.", many=True)


class ReturnedOut(Answer):
    """A loan that ended, and what that did to the piece's standing."""

    loan = fields.Inner(LoanOut, "The loan.")
    sentence = fields.Text("What was done, for people.")
    before = fields.Inner(StandingOut, "The standing before.")
    after = fields.Inner(StandingOut, "The standing now.")
    proof = fields.Inner(ProofOut, "That it ran in this job's unit.", nullable=True)
    entry = fields.Whole("The entry of the ledger, if it changed its bin or stayed fitted.", most=None, nullable=True)
    warnings = fields.Many(ma.String(), "What to watch.")


class SparesQuery(Query):
    """For what to find spares: one of these."""

    suspect_id = fields.AskedIdent("In place of this suspect.")
    part_id = fields.AskedIdent("For this part.")
    job_id = fields.AskedIdent("For the unit model of this job.")


class SpareOptionOut(Answer):
    """A piece that could stand in."""

    seen = fields.Inner(PieceSeenOut, "The piece.")
    how = fields.Text("How it fits.")
    free = fields.Flag("It can be taken now.")


class SpareChoiceOut(Answer):
    """The pieces that could stand in, best first."""

    sentence = fields.Text("The same in a sentence.")
    options = fields.Inner(SpareOptionOut, "The pieces.", many=True)
