"""Pieces with their standing, procedures and proofs."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut, PieceOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Edit, Query
from inventory.domain.common.validation import KINDS
from inventory.domain.proof.procedures import MOST_CHECKS, SENSITIVITY, SPECIFICITY
from inventory.domain.proof.standings import BEST_FIRST

ANY_KIND = ("", *KINDS)


class PieceEdit(Edit):
    """What to change of a piece."""

    name = fields.Text("What the bench calls it.", most=40, example="C-07")
    serial = fields.Text("Its serial number.", most=80)
    note = fields.Text("What to know about it.", most=1000)
    spare = fields.Flag("Kept to test with, not to fit.")


class PiecesQuery(PageQuery):
    """Which pieces to list."""

    part_id = fields.AskedIdent("Of this part.")
    bin_id = fields.AskedIdent("In this bin.")
    lot_id = fields.AskedIdent("Of this lot.")
    spare = fields.AskedFlag("Kept to test with, or not.")
    standing = fields.Text("Of this standing.", words=BEST_FIRST)
    out = fields.AskedFlag("Lent now, or not.")
    gone = fields.AskedFlag("true: only those fitted or thrown away.", default=False)


class WhereaboutsOut(Answer):
    """Where a piece is."""

    state = fields.Text("in bin, out, fitted, scrapped or gone.")
    words = fields.Text("The same for people.")
    bin_id = fields.Ident("Where it is, or goes back to.", nullable=True)
    bin_name = fields.Text("What that bin is called.")
    job_id = fields.Ident("The job it is with.", nullable=True)
    job_number = fields.Text("That job's number.")
    loan_id = fields.Ident("The loan it is out on.", nullable=True)
    since = fields.Moment("Since when.", nullable=True)
    due = fields.Moment("When it is due back.", nullable=True)
    overdue = fields.Flag("It should be back by now.")


class StandingStepOut(Answer):
    """One line of how a chance came about."""

    at = fields.Moment("When.")
    p_good = fields.Share("The chance that it was good, after it.")
    words = fields.Text("What happened.")


class StandingOut(Answer):
    """How far a piece can be trusted to test with."""

    piece_id = fields.Ident("The piece.")
    at = fields.Moment("At this moment.")
    word = fields.Text("Its standing.", words=BEST_FIRST)
    p_good = fields.Share("The chance that it is good.")
    why = fields.Text("Why, in a sentence.")
    worth = fields.Text("What a unit that still fails with it would say of the suspect.")
    valid_until = fields.Day("Last day on which time alone leaves it proved; null: it is not.", nullable=True)
    proof_until = fields.Day("Last day on which its last proof is in date.", nullable=True)
    next_word = fields.Text("What time alone makes of it next.")
    next_on = fields.Day("When.", nullable=True)
    matings = fields.Whole("How often its connector was mated.", least=None)
    rated_matings = fields.Whole("How often it may be.")
    steps = fields.Inner(StandingStepOut, "How the chance came about.", many=True)


class StandingQuery(Query):
    """At which moment."""

    at = fields.Moment("As it stood at this moment; left out: now.")


class PieceSeenOut(Answer):
    """A piece with its part, its lot, where it is and how far it can be trusted."""

    piece = fields.Inner(PieceOut, "The piece.")
    part = fields.Inner(PartOut, "The part it is one of.")
    lot = fields.Inner(LotOut, "The lot it came with.")
    where = fields.Inner(WhereaboutsOut, "Where it is.")
    standing = fields.Inner(StandingOut, "How far it can be trusted.")


class HappenedOut(Answer):
    """One line of what happened to a piece."""

    at = fields.Moment("When.")
    what = fields.Text("movement, proof, loan or hold.")
    words = fields.Text("What happened.")
    person = fields.Text("Who did it.")
    job_id = fields.Ident("On this job.", nullable=True)
    job_number = fields.Text("That job's number.")
    good = fields.Flag("A proof passed or a unit worked; null: it says neither.", nullable=True)
    struck = fields.Flag("Logged by mistake, and no longer counted.")
    entry = fields.Whole("The entry of the ledger.", most=None, nullable=True)
    proof_id = fields.Ident("The proof.", nullable=True)
    loan_id = fields.Ident("The loan.", nullable=True)


class CautionOut(Answer):
    """What to mind before touching something."""

    key = fields.Text("The hazard; empty: the part's own caution.")
    title = fields.Text("What people call it.")
    line = fields.Text("The line that fits a label.")
    text = fields.Text("The caution in full.")


# ---- procedures ------------------------------------------------------------------------------------------


class CheckIn(Body):
    """One reading that a procedure asks for."""

    name = fields.Text("What is read.", least=1, most=120, required=True, example="Current")
    unit = fields.Text("Its unit; empty: it is answered yes or no.", most=20, default="", example="A")
    low = fields.Text("Lower limit, decimal text, counts as inside.", most=30, default="")
    high = fields.Text("Upper limit, decimal text, counts as inside.", most=30, default="", example="0.2")
    times_rated = fields.Text("The limits are shares of this attribute of the part.", most=30, default="")


class ProcedureFields(Body):
    """What is noted of a procedure."""

    kind = fields.Text("For parts of this kind; empty: any.", words=ANY_KIND, default="")
    part_id = fields.Ident("For this part only.", nullable=True)
    checks = fields.Inner(CheckIn, f"What is read, 1 to {MOST_CHECKS}.", many=True, required=True)
    steps = fields.Text("What to do.", most=5000, default="")
    hazards = fields.Many(ma.String(), "What to mind, by key.", most=20)
    source = fields.Text("Where its limits are from.", most=300, default="")
    sensitivity = fields.Share("P(fails | bad), between 0 and 1.", default=SENSITIVITY)
    specificity = fields.Share("P(passes | good), between 0 and 1.", default=SPECIFICITY)


class ProcedureIn(ProcedureFields):
    """A procedure to be added."""

    name = fields.Text("What it is called.", least=1, most=120, required=True, example="Fan bench run")


class EditionEdit(Edit, ProcedureFields):
    """What the next edition of a procedure changes."""


class RetireIn(Body):
    """Whether a procedure is offered."""

    retired = fields.Flag("true: no longer; false: again.", required=True)


class CheckOut(Answer):
    """One reading that a procedure asks for."""

    position = fields.Whole("Its place in the procedure.")
    name = fields.Text("What is read.")
    unit = fields.Text("Its unit; empty: it is answered yes or no.")
    low = fields.Text("Lower limit, counts as inside.")
    high = fields.Text("Upper limit, counts as inside.")
    times_rated = fields.Text("The limits are shares of this attribute of the part.")
    yes_or_no = fields.Flag("It is answered yes or no.")


class ProcedureOut(Answer):
    """A named way to test a piece, in one of its editions."""

    id = fields.Ident("The id of this edition.")
    name = fields.Text("What it is called.")
    edition = fields.Whole("Which edition.", least=1)
    kind = fields.Text("For parts of this kind; empty: any.", words=ANY_KIND)
    part_id = fields.Ident("For this part only.", nullable=True)
    steps = fields.Text("What to do.")
    hazards = fields.Many(ma.String(), "What to mind, by key.")
    source = fields.Text("Where its limits are from.")
    sensitivity = fields.Share("P(fails | bad).")
    specificity = fields.Share("P(passes | good).")
    retired = fields.Flag("No longer offered.")
    created = fields.Moment("When this edition was made.")
    checks = fields.Inner(CheckOut, "What is read.", many=True)


class ProceduresQuery(PageQuery):
    """Which procedures to list."""

    kind = fields.Text("For parts of this kind.", words=KINDS)
    part_id = fields.AskedIdent("That may prove this part.")


class AskedOut(Answer):
    """What a procedure asks of one piece."""

    procedure = fields.Inner(ProcedureOut, "The procedure.")
    checks = fields.Inner(CheckOut, "Its checks, with the limits of this very part.", many=True)
    cautions = fields.Inner(CautionOut, "What to mind.", many=True)


# ---- proofs ----------------------------------------------------------------------------------------------


class ReadingIn(Body):
    """One reading of a test."""

    name = fields.Text(
        "What was read, as the procedure calls it.", least=1, most=120, required=True, example="Current"
    )
    value = fields.Text("Decimal text, or yes or no.", least=1, most=30, required=True, example="0.14")
    unit = fields.Text("Its unit, unless it is yes or no.", most=20, example="A")


class ProofIn(Body):
    """A test that was made."""

    procedure_id = fields.Ident("By this procedure.", required=True)
    readings = fields.Inner(
        ReadingIn, "What was read, one a check; a failed test may stop early.", many=True, required=True
    )
    instrument = fields.Text("What it was read with.", most=120, default="")
    note = fields.Text("What else to know.", most=2000, default="")
    job_id = fields.Ident("On this job.", nullable=True)
    minutes = fields.Share("Minutes that it took, if it was timed.", most=10_000, nullable=True)


class RunIn(Body):
    """That a piece ran in a unit, and the unit did what it should."""

    job_id = fields.Ident("In the unit of this job.", required=True)
    note = fields.Text("What else to know.", most=2000, default="")


class WhyIn(Body):
    """Why something is taken back."""

    reason = fields.Text("Why.", least=1, most=300, required=True, example="meter on the wrong range")


class ReadingOut(Answer):
    """One reading with the limits it was held against."""

    position = fields.Whole("Its place in the procedure.")
    name = fields.Text("What was read.")
    unit = fields.Text("Its unit.")
    value = fields.Text("What was read.")
    low = fields.Text("Lower limit.")
    high = fields.Text("Upper limit.")
    passed = fields.Flag("It lies inside.")
    says = fields.Text("The same in words.")


class ProofOut(Answer):
    """A dated test of a piece, or that it ran in a job's unit."""

    id = fields.Ident("Its id.")
    piece_id = fields.Ident("The piece.")
    procedure_id = fields.Ident("By this procedure; null: it ran in a unit.", nullable=True)
    procedure = fields.Text("What the procedure is called.")
    edition = fields.Whole("Which edition.", nullable=True)
    job_id = fields.Ident("On this job.", nullable=True)
    job_number = fields.Text("That job's number.")
    at = fields.Moment("When.")
    person = fields.Text("Who tested.")
    passed = fields.Flag("It passed.")
    sensitivity = fields.Share("P(fails | bad) of the test.")
    specificity = fields.Share("P(passes | good) of the test.")
    instrument = fields.Text("What it was read with.")
    minutes = fields.Share("Minutes that it took, if it was timed.", least=None, most=None, nullable=True)
    note = fields.Text("What else to know.")
    struck = fields.Moment("When it was struck as logged by mistake.", nullable=True)
    struck_by = fields.Text("Who struck it.")
    struck_reason = fields.Text("Why.")
    readings = fields.Inner(ReadingOut, "What was read.", many=True)


class ProofsQuery(PageQuery):
    """Which proofs to list."""

    piece_id = fields.AskedIdent("Of this piece.")
    procedure_id = fields.AskedIdent("By this edition of a procedure.")
    job_id = fields.AskedIdent("On this job.")
    passed = fields.AskedFlag("Those that passed, or those that failed.")


class ProvedOut(Answer):
    """A proof that was noted, and what it did to the standing."""

    proof = fields.Inner(ProofOut, "The proof.")
    sentence = fields.Text("What it says, for people.")
    before = fields.Inner(StandingOut, "The standing before.")
    after = fields.Inner(StandingOut, "The standing now.")
