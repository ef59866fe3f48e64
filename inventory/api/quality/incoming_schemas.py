"""Incoming checks: plans, checks, what was tested, and a supplier's rate of dead ones."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import ReadingIn, ReadingOut
from inventory.api.schema import Answer, Body, Query
from inventory.domain.buying.incoming_plans import MOST_TESTS
from inventory.domain.quality.incoming_results import FATES
from inventory.domain.quality.incoming_testing import OUTCOMES

SURE = "How sure to be (0.001 to 0.999) ..."
MOST_BAD = "... that at most this share is bad (0.001 to 0.999)."


class IncomingPlanIn(Body):
    """How much is tested: either test, or sure and most_bad."""

    test = fields.Whole("Test so many of each.", most=MOST_TESTS, nullable=True, example=5)
    accept = fields.Whole("How many of those tested may be bad.", most=MOST_TESTS, default=0)
    sure = fields.Share(SURE, nullable=True)
    most_bad = fields.Share(MOST_BAD, nullable=True)
    hold = fields.Flag("Nobody takes from the lot until it is checked.", default=True)


class IncomingSampleQuery(Query):
    """A question about one lot."""

    pieces = fields.Asked("How many the lot has.", least=1, most=10**9, required=True)
    test = fields.Asked("Test so many.", least=1, most=MOST_TESTS)
    accept = fields.Asked("How many of those may be bad.", most=MOST_TESTS)
    sure_percent = fields.Asked("Or: how sure to be, in whole per cent ...", least=1, most=99)
    bad_percent = fields.Asked("... that at most so many per cent are bad.", least=1, most=99)


class IncomingPassOut(Answer):
    """How a poor lot would fare."""

    share_bad = fields.Share("If this share were bad ...")
    chance = fields.Share("... it would pass with this chance.")


class IncomingSampleOut(Answer):
    """What a plan asks of a lot of so many."""

    pieces = fields.Whole("So many in the lot.", most=None)
    tests = fields.Whole("Test so many.", most=None)
    accept = fields.Whole("So many of them may be bad.", most=None)
    passes = fields.Inner(IncomingPassOut, "How poor lots would fare.", many=True)


class IncomingPlanOut(Answer):
    """How much of each delivery of a part, or of a supplier, is tested."""

    part_id = fields.Ident("The part it is of.", nullable=True)
    supplier_id = fields.Ident("Or the supplier.", nullable=True)
    of = fields.Text("The name of either.")
    test = fields.Whole("Test so many of each; 0: none, whatever the supplier's plan says.", nullable=True)
    sure = fields.Share(SURE, nullable=True)
    most_bad = fields.Share(MOST_BAD, nullable=True)
    accept = fields.Whole("How many of those tested may be bad.")
    hold = fields.Flag("Nobody takes from the lot until it is checked.")
    words = fields.Text("The same in words.")
    examples = fields.Inner(IncomingSampleOut, "What it asks of lots of some sizes.", many=True)


class IncomingBeginIn(IncomingPlanIn):
    """What to test of a lot that is here."""


class IncomingChecksQuery(PageQuery):
    """Which checks to list."""

    open = fields.AskedFlag("Those under way, or those that are closed.")
    lot_id = fields.AskedIdent("Of this lot.")
    part_id = fields.AskedIdent("Of this part.")
    supplier_id = fields.AskedIdent("Of what this supplier sent.")


class IncomingResultIn(Body):
    """One that was tested: good or bad as the tester saw it, or the readings of a procedure."""

    good = fields.Flag("It is good.", nullable=True)
    procedure_id = fields.Ident("Or: tested by this procedure ...", nullable=True)
    readings = fields.Inner(ReadingIn, "... with these readings; a failed test may stop early.", many=True)
    piece_id = fields.Ident("The piece that was tested, if it has a label of its own.", nullable=True)
    bin_id = fields.Ident("Where one without a label was taken from.", nullable=True)
    fate = fields.Text(
        "What becomes of it; empty: a good one goes back, a bad one is scrapped.", words=("", *FATES), default=""
    )
    name = fields.Text("What to call it, if it gets a label.", most=40, default="")
    note = fields.Text("What else to know.", most=300, default="")
    corrects = fields.Ident("The result that was wrong: taken back in the same act.", nullable=True)


class IncomingTakeBackIn(Body):
    """Why a result counts no longer."""

    reason = fields.Text("Why.", least=1, most=300, required=True, example="wrong meter range")


class IncomingCloseIn(Body):
    """How a check ends, as its tests say."""

    outcome = fields.Text("What the tests say.", words=OUTCOMES, required=True)


class IncomingOverrideIn(IncomingCloseIn):
    """How a check ends, as the owner decides."""

    reason = fields.Text("Why.", least=1, most=300, required=True, example="only the plating is dull")


class IncomingResultOut(Answer):
    """One that was tested."""

    id = fields.Ident("Its id.")
    number = fields.Whole("Its place in the sample.")
    at = fields.Moment("When.")
    person = fields.Text("Who tested it.")
    good = fields.Flag("It is good.")
    fate = fields.Text("What became of it.", words=FATES)
    procedure_id = fields.Ident("By which procedure; null: as the tester saw it.", nullable=True)
    procedure = fields.Text("Its name.")
    piece_id = fields.Ident("The piece, if it has a label of its own.", nullable=True)
    piece_name = fields.Text("What it is called.")
    proof_id = fields.Ident("The proof that the piece keeps.", nullable=True)
    entry = fields.Whole("The entry of the ledger, when it was scrapped or labelled.", most=None, nullable=True)
    note = fields.Text("What else to know.")
    readings = fields.Inner(ReadingOut, "What was read.", many=True)
    struck = fields.Moment("When it was taken back; null: it counts.", nullable=True)
    struck_by = fields.Text("By whom.")
    struck_reason = fields.Text("Why.")


class IncomingRestOut(Answer):
    """What is known of those of the lot that were not tested."""

    pieces = fields.Whole("How many they are.", most=None)
    mean_bad = fields.Number("So many are expected bad.")
    share_bad = fields.Share("The share expected bad: the chance that the next one is.")
    low = fields.Whole("Nine times in ten at least so many are bad ...", most=None)
    high = fields.Whole("... and at most so many.", most=None)
    p_all_good = fields.Share("The chance that all of them are good.")


class IncomingOut(Answer):
    """A check of a lot."""

    id = fields.Ident("Its id.")
    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part.")
    supplier = fields.Text("Who sent it.")
    opened = fields.Moment("When it began.")
    opened_by = fields.Text("Who received the lot, or began the check.")
    pieces = fields.Whole("How many of the lot were here.", most=None)
    tests = fields.Whole("How many to test; fewer than planned when so many are no longer here.", most=None)
    accept = fields.Whole("How many of them may be bad.", most=None)
    sure = fields.Share(SURE, nullable=True)
    most_bad = fields.Share(MOST_BAD, nullable=True)
    every = fields.Flag("All that is left is sorted, after the lot was rejected.")
    holds = fields.Flag("Nobody can take from the lot until it is closed.")
    closed = fields.Moment("When it was closed; null: it is under way.", nullable=True)
    closed_by = fields.Text("By whom.")
    outcome = fields.Text("How it ended.", words=("", *OUTCOMES, "called off"))
    overridden = fields.Flag("The owner decided otherwise than the tests, or before they said anything.")
    reason = fields.Text("Why.")
    tested = fields.Whole("How many were tested.", most=None)
    bad = fields.Whole("How many of those were bad.", most=None)
    left = fields.Whole("How many are here and not tested.", most=None)
    verdict = fields.Text("What the tests say; empty: it is not certain yet.", words=("", "accept", "reject"))
    asks = fields.Text("What it asks, in words.")
    says = fields.Text("What it says, in words.")
    rest = fields.Inner(IncomingRestOut, "What it says of the rest.")
    results = fields.Inner(IncomingResultOut, "What was tested.", many=True)


class QuarterOut(Answer):
    """What came in one quarter of a year, as far as it was seen."""

    start = fields.Day("Its first day.")
    name = fields.Text("What people call it.")
    seen = fields.Whole("How many were seen to work or to be dead.", most=None)
    dead = fields.Whole("How many of them were dead.", most=None)
    rate = fields.Share("The share.")
    low = fields.Share("The lower end of its 90 % interval.")
    high = fields.Share("The upper end.")


class DeadOnArrivalOut(Answer):
    """How many of a supplier's pieces were dead when they came."""

    seen = fields.Whole("How many were seen to work or to be dead.", most=None)
    dead = fields.Whole("How many of them were dead.", most=None)
    tested = fields.Whole("How many of them were tested.", most=None)
    rate = fields.Share("The share.")
    low = fields.Share("The lower end of its interval.")
    high = fields.Share("The upper end.")
    level = fields.Share("The chance that the interval holds the rate.")
    enough = fields.Flag("Enough were seen to say anything.")
    words = fields.Text("The same in words.")
    quarters = fields.Inner(QuarterOut, "By quarter, the oldest first.", many=True)
