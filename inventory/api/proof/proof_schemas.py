"""Pieces with their standing, procedures and proofs."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut, PieceOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, EditSchema, QuerySchema, ResponseSchema
from inventory.domain.common.validation import PART_KINDS
from inventory.domain.proof.procedures import DEFAULT_SENSITIVITY, DEFAULT_SPECIFICITY, MAX_CHECKS
from inventory.domain.proof.standings import STANDINGS_BEST_FIRST

ANY_KIND = ("", *PART_KINDS)


class PieceEdit(EditSchema):
    """What to change of a piece."""

    name = fields.Text("What the bench calls it.", maximum=40, example="C-07")
    serial = fields.Text("Its serial number.", maximum=80)
    note = fields.Text("What to know about it.", maximum=1000)
    spare = fields.Boolean("Kept to test with, not to fit.")


class PiecesQuery(PageQuery):
    """Which pieces to list."""

    part_id = fields.QueryId("Of this part.")
    bin_id = fields.QueryId("In this bin.")
    lot_id = fields.QueryId("Of this lot.")
    spare = fields.QueryBoolean("Kept to test with, or not.")
    standing = fields.Text("Of this standing.", choices=STANDINGS_BEST_FIRST)
    out = fields.QueryBoolean("Lent now, or not.")
    gone = fields.QueryBoolean("true: only those fitted or thrown away.", default=False)


class PieceLocationOut(ResponseSchema):
    """Where a piece is."""

    state = fields.Text("in bin, out, fitted, scrapped or gone.")
    words = fields.Text("The same for people.")
    bin_id = fields.Id("Where it is, or goes back to.", nullable=True)
    bin_name = fields.Text("What that bin is called.")
    job_id = fields.Id("The job it is with.", nullable=True)
    job_number = fields.Text("That job's number.")
    loan_id = fields.Id("The loan it is out on.", nullable=True)
    since = fields.DateTime("Since when.", nullable=True)
    due = fields.DateTime("When it is due back.", nullable=True)
    overdue = fields.Boolean("It should be back by now.")


class StandingReasonOut(ResponseSchema):
    """One line of how a chance came about."""

    at = fields.DateTime("When.")
    p_good = fields.BoundedNumber("The chance that it was good, after it.")
    words = fields.Text("What happened.")


class StandingOut(ResponseSchema):
    """How far a piece can be trusted to test with."""

    piece_id = fields.Id("The piece.")
    at = fields.DateTime("At this moment.")
    word = fields.Text("Its standing.", choices=STANDINGS_BEST_FIRST)
    p_good = fields.BoundedNumber("The chance that it is good.")
    why = fields.Text("Why, in a sentence.")
    worth = fields.Text("What a unit that still fails with it would say of the suspect.")
    valid_until = fields.Date("Last day on which time alone leaves it proved; null: it is not.", nullable=True)
    proof_until = fields.Date("Last day on which its last proof is in date.", nullable=True)
    next_word = fields.Text("What time alone makes of it next.")
    next_on = fields.Date("When.", nullable=True)
    matings = fields.Integer("How often its connector was mated.", minimum=None)
    rated_matings = fields.Integer("How often it may be.")
    steps = fields.Nested(StandingReasonOut, "How the chance came about.", many=True)


class StandingQuery(QuerySchema):
    """At which moment."""

    at = fields.DateTime("As it stood at this moment; left out: now.")


class PieceStatusOut(ResponseSchema):
    """A piece with its part, its lot, where it is and how far it can be trusted."""

    piece = fields.Nested(PieceOut, "The piece.")
    part = fields.Nested(PartOut, "The part it is one of.")
    lot = fields.Nested(LotOut, "The lot it came with.")
    where = fields.Nested(PieceLocationOut, "Where it is.")
    standing = fields.Nested(StandingOut, "How far it can be trusted.")


class TimelineEntryOut(ResponseSchema):
    """One line of what happened to a piece."""

    at = fields.DateTime("When.")
    what = fields.Text("movement, proof, loan or hold.")
    words = fields.Text("What happened.")
    person = fields.Text("Who did it.")
    job_id = fields.Id("On this job.", nullable=True)
    job_number = fields.Text("That job's number.")
    good = fields.Boolean("A proof passed or a unit worked; null: it says neither.", nullable=True)
    struck = fields.Boolean("Logged by mistake, and no longer counted.")
    entry = fields.Integer("The entry of the ledger.", maximum=None, nullable=True)
    proof_id = fields.Id("The proof.", nullable=True)
    loan_id = fields.Id("The loan.", nullable=True)


class CautionOut(ResponseSchema):
    """What to mind before touching something."""

    key = fields.Text("The hazard; empty: the part's own caution.")
    title = fields.Text("What people call it.")
    line = fields.Text("The line that fits a label.")
    text = fields.Text("The caution in full.")


# ---- procedures ------------------------------------------------------------------------------------------


class ProcedureCheckIn(BodySchema):
    """One reading that a procedure asks for."""

    name = fields.Text("What is read.", minimum=1, maximum=120, required=True, example="Current")
    unit = fields.Text("Its unit; empty: it is answered yes or no.", maximum=20, default="", example="A")
    low = fields.Text("Lower limit, decimal text, counts as inside.", maximum=30, default="")
    high = fields.Text("Upper limit, decimal text, counts as inside.", maximum=30, default="", example="0.2")
    times_rated = fields.Text("The limits are shares of this attribute of the part.", maximum=30, default="")


class ProcedureFields(BodySchema):
    """What is noted of a procedure."""

    kind = fields.Text("For parts of this kind; empty: any.", choices=ANY_KIND, default="")
    part_id = fields.Id("For this part only.", nullable=True)
    checks = fields.Nested(ProcedureCheckIn, f"What is read, 1 to {MAX_CHECKS}.", many=True, required=True)
    steps = fields.Text("What to do.", maximum=5000, default="")
    hazards = fields.List(ma.String(), "What to mind, by key.", maximum=20)
    source = fields.Text("Where its limits are from.", maximum=300, default="")
    sensitivity = fields.BoundedNumber("P(fails | bad), between 0 and 1.", default=DEFAULT_SENSITIVITY)
    specificity = fields.BoundedNumber("P(passes | good), between 0 and 1.", default=DEFAULT_SPECIFICITY)


class ProcedureIn(ProcedureFields):
    """A procedure to be added."""

    name = fields.Text("What it is called.", minimum=1, maximum=120, required=True, example="Fan bench run")


class EditionEdit(EditSchema, ProcedureFields):
    """What the next edition of a procedure changes."""


class RetireIn(BodySchema):
    """Whether a procedure is offered."""

    retired = fields.Boolean("true: no longer; false: again.", required=True)


class ProcedureCheckOut(ResponseSchema):
    """One reading that a procedure asks for."""

    position = fields.Integer("Its place in the procedure.")
    name = fields.Text("What is read.")
    unit = fields.Text("Its unit; empty: it is answered yes or no.")
    low = fields.Text("Lower limit, counts as inside.")
    high = fields.Text("Upper limit, counts as inside.")
    times_rated = fields.Text("The limits are shares of this attribute of the part.")
    yes_or_no = fields.Boolean("It is answered yes or no.")


class ProcedureOut(ResponseSchema):
    """A named way to test a piece, in one of its editions."""

    id = fields.Id("The id of this edition.")
    name = fields.Text("What it is called.")
    edition = fields.Integer("Which edition.", minimum=1)
    kind = fields.Text("For parts of this kind; empty: any.", choices=ANY_KIND)
    part_id = fields.Id("For this part only.", nullable=True)
    steps = fields.Text("What to do.")
    hazards = fields.List(ma.String(), "What to mind, by key.")
    source = fields.Text("Where its limits are from.")
    sensitivity = fields.BoundedNumber("P(fails | bad).")
    specificity = fields.BoundedNumber("P(passes | good).")
    retired = fields.Boolean("No longer offered.")
    created = fields.DateTime("When this edition was made.")
    checks = fields.Nested(ProcedureCheckOut, "What is read.", many=True)


class ProceduresQuery(PageQuery):
    """Which procedures to list."""

    kind = fields.Text("For parts of this kind.", choices=PART_KINDS)
    part_id = fields.QueryId("That may prove this part.")


class ResolvedProcedureOut(ResponseSchema):
    """What a procedure asks of one piece."""

    procedure = fields.Nested(ProcedureOut, "The procedure.")
    checks = fields.Nested(ProcedureCheckOut, "Its checks, with the limits of this very part.", many=True)
    cautions = fields.Nested(CautionOut, "What to mind.", many=True)


# ---- proofs ----------------------------------------------------------------------------------------------


class ReadingIn(BodySchema):
    """One reading of a test."""

    name = fields.Text(
        "What was read, as the procedure calls it.", minimum=1, maximum=120, required=True, example="Current"
    )
    value = fields.Text("Decimal text, or yes or no.", minimum=1, maximum=30, required=True, example="0.14")
    unit = fields.Text("Its unit, unless it is yes or no.", maximum=20, example="A")


class ProofIn(BodySchema):
    """A test that was made."""

    procedure_id = fields.Id("By this procedure.", required=True)
    readings = fields.Nested(
        ReadingIn, "What was read, one a check; a failed test may stop early.", many=True, required=True
    )
    instrument = fields.Text("What it was read with.", maximum=120, default="")
    note = fields.Text("What else to know.", maximum=2000, default="")
    job_id = fields.Id("On this job.", nullable=True)
    minutes = fields.BoundedNumber("Minutes that it took, if it was timed.", maximum=10_000, nullable=True)


class RunIn(BodySchema):
    """That a piece ran in a unit, and the unit did what it should."""

    job_id = fields.Id("In the unit of this job.", required=True)
    note = fields.Text("What else to know.", maximum=2000, default="")


class ReasonIn(BodySchema):
    """Why something is taken back."""

    reason = fields.Text("Why.", minimum=1, maximum=300, required=True, example="meter on the wrong range")


class ReadingOut(ResponseSchema):
    """One reading with the limits it was held against."""

    position = fields.Integer("Its place in the procedure.")
    name = fields.Text("What was read.")
    unit = fields.Text("Its unit.")
    value = fields.Text("What was read.")
    low = fields.Text("Lower limit.")
    high = fields.Text("Upper limit.")
    passed = fields.Boolean("It lies inside.")
    says = fields.Text("The same in words.")


class ProofOut(ResponseSchema):
    """A dated test of a piece, or that it ran in a job's unit."""

    id = fields.Id("Its id.")
    piece_id = fields.Id("The piece.")
    procedure_id = fields.Id("By this procedure; null: it ran in a unit.", nullable=True)
    procedure = fields.Text("What the procedure is called.")
    edition = fields.Integer("Which edition.", nullable=True)
    job_id = fields.Id("On this job.", nullable=True)
    job_number = fields.Text("That job's number.")
    at = fields.DateTime("When.")
    person = fields.Text("Who tested.")
    passed = fields.Boolean("It passed.")
    sensitivity = fields.BoundedNumber("P(fails | bad) of the test.")
    specificity = fields.BoundedNumber("P(passes | good) of the test.")
    instrument = fields.Text("What it was read with.")
    minutes = fields.BoundedNumber(
        "Minutes that it took, if it was timed.", minimum=None, maximum=None, nullable=True
    )
    note = fields.Text("What else to know.")
    struck = fields.DateTime("When it was struck as logged by mistake.", nullable=True)
    struck_by = fields.Text("Who struck it.")
    struck_reason = fields.Text("Why.")
    readings = fields.Nested(ReadingOut, "What was read.", many=True)


class ProofsQuery(PageQuery):
    """Which proofs to list."""

    piece_id = fields.QueryId("Of this piece.")
    procedure_id = fields.QueryId("By this edition of a procedure.")
    job_id = fields.QueryId("On this job.")
    passed = fields.QueryBoolean("Those that passed, or those that failed.")


class ProofResultOut(ResponseSchema):
    """A proof that was noted, and what it did to the standing."""

    proof = fields.Nested(ProofOut, "The proof.")
    sentence = fields.Text("What it says, for people.")
    before = fields.Nested(StandingOut, "The standing before.")
    after = fields.Nested(StandingOut, "The standing now.")
