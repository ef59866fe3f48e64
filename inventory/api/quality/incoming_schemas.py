"""Incoming checks: plans, checks, what was tested, and a supplier's rate of dead ones."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import ReadingIn, ReadingOut
from inventory.api.schema import BodySchema, QuerySchema, ResponseSchema
from inventory.domain.buying.incoming_plans import MAX_TESTS
from inventory.domain.quality.incoming_results import FATES
from inventory.domain.quality.incoming_testing import CHECK_OUTCOMES

CONFIDENCE_HELP = "How sure to be (0.001 to 0.999) ..."
MOST_BAD_HELP = "... that at most this share is bad (0.001 to 0.999)."


class IncomingPlanIn(BodySchema):
    """How much is tested: either test, or sure and most_bad."""

    test = fields.Integer("Test so many of each.", maximum=MAX_TESTS, nullable=True, example=5)
    accept = fields.Integer("How many of those tested may be bad.", maximum=MAX_TESTS, default=0)
    sure = fields.BoundedNumber(CONFIDENCE_HELP, nullable=True)
    most_bad = fields.BoundedNumber(MOST_BAD_HELP, nullable=True)
    hold = fields.Boolean("Nobody takes from the lot until it is checked.", default=True)


class IncomingSampleQuery(QuerySchema):
    """A question about one lot."""

    pieces = fields.QueryInteger("How many the lot has.", minimum=1, maximum=10**9, required=True)
    test = fields.QueryInteger("Test so many.", minimum=1, maximum=MAX_TESTS)
    accept = fields.QueryInteger("How many of those may be bad.", maximum=MAX_TESTS)
    sure_percent = fields.QueryInteger("Or: how sure to be, in whole per cent ...", minimum=1, maximum=99)
    bad_percent = fields.QueryInteger("... that at most so many per cent are bad.", minimum=1, maximum=99)


class PassChanceOut(ResponseSchema):
    """How a poor lot would fare."""

    share_bad = fields.BoundedNumber("If this share were bad ...")
    chance = fields.BoundedNumber("... it would pass with this chance.")


class IncomingSampleOut(ResponseSchema):
    """What a plan asks of a lot of so many."""

    pieces = fields.Integer("So many in the lot.", maximum=None)
    tests = fields.Integer("Test so many.", maximum=None)
    accept = fields.Integer("So many of them may be bad.", maximum=None)
    passes = fields.Nested(PassChanceOut, "How poor lots would fare.", many=True)


class IncomingPlanOut(ResponseSchema):
    """How much of each delivery of a part, or of a supplier, is tested."""

    part_id = fields.Id("The part it is of.", nullable=True)
    supplier_id = fields.Id("Or the supplier.", nullable=True)
    of = fields.Text("The name of either.")
    test = fields.Integer("Test so many of each; 0: none, whatever the supplier's plan says.", nullable=True)
    sure = fields.BoundedNumber(CONFIDENCE_HELP, nullable=True)
    most_bad = fields.BoundedNumber(MOST_BAD_HELP, nullable=True)
    accept = fields.Integer("How many of those tested may be bad.")
    hold = fields.Boolean("Nobody takes from the lot until it is checked.")
    words = fields.Text("The same in words.")
    examples = fields.Nested(IncomingSampleOut, "What it asks of lots of some sizes.", many=True)


class IncomingCheckIn(IncomingPlanIn):
    """What to test of a lot that is here."""


class IncomingChecksQuery(PageQuery):
    """Which checks to list."""

    open = fields.QueryBoolean("Those under way, or those that are closed.")
    lot_id = fields.QueryId("Of this lot.")
    part_id = fields.QueryId("Of this part.")
    supplier_id = fields.QueryId("Of what this supplier sent.")


class IncomingResultIn(BodySchema):
    """One that was tested: good or bad as the tester saw it, or the readings of a procedure."""

    good = fields.Boolean("It is good.", nullable=True)
    procedure_id = fields.Id("Or: tested by this procedure ...", nullable=True)
    readings = fields.Nested(ReadingIn, "... with these readings; a failed test may stop early.", many=True)
    piece_id = fields.Id("The piece that was tested, if it has a label of its own.", nullable=True)
    bin_id = fields.Id("Where one without a label was taken from.", nullable=True)
    fate = fields.Text(
        "What becomes of it; empty: a good one goes back, a bad one is scrapped.", choices=("", *FATES), default=""
    )
    name = fields.Text("What to call it, if it gets a label.", maximum=40, default="")
    note = fields.Text("What else to know.", maximum=300, default="")
    corrects = fields.Id("The result that was wrong: taken back in the same act.", nullable=True)


class RetractResultIn(BodySchema):
    """Why a result counts no longer."""

    reason = fields.Text("Why.", minimum=1, maximum=300, required=True, example="wrong meter range")


class IncomingCloseIn(BodySchema):
    """How a check ends, as its tests say."""

    outcome = fields.Text("What the tests say.", choices=CHECK_OUTCOMES, required=True)


class IncomingOverrideIn(IncomingCloseIn):
    """How a check ends, as the owner decides."""

    reason = fields.Text("Why.", minimum=1, maximum=300, required=True, example="only the plating is dull")


class IncomingResultOut(ResponseSchema):
    """One that was tested."""

    id = fields.Id("Its id.")
    number = fields.Integer("Its place in the sample.")
    at = fields.DateTime("When.")
    person = fields.Text("Who tested it.")
    good = fields.Boolean("It is good.")
    fate = fields.Text("What became of it.", choices=FATES)
    procedure_id = fields.Id("By which procedure; null: as the tester saw it.", nullable=True)
    procedure = fields.Text("Its name.")
    piece_id = fields.Id("The piece, if it has a label of its own.", nullable=True)
    piece_name = fields.Text("What it is called.")
    proof_id = fields.Id("The proof that the piece keeps.", nullable=True)
    entry = fields.Integer("The entry of the ledger, when it was scrapped or labelled.", maximum=None, nullable=True)
    note = fields.Text("What else to know.")
    readings = fields.Nested(ReadingOut, "What was read.", many=True)
    struck = fields.DateTime("When it was taken back; null: it counts.", nullable=True)
    struck_by = fields.Text("By whom.")
    struck_reason = fields.Text("Why.")


class UntestedRestOut(ResponseSchema):
    """What is known of those of the lot that were not tested."""

    pieces = fields.Integer("How many they are.", maximum=None)
    mean_bad = fields.Number("So many are expected bad.")
    share_bad = fields.BoundedNumber("The share expected bad: the chance that the next one is.")
    low = fields.Integer("Nine times in ten at least so many are bad ...", maximum=None)
    high = fields.Integer("... and at most so many.", maximum=None)
    p_all_good = fields.BoundedNumber("The chance that all of them are good.")


class IncomingCheckOut(ResponseSchema):
    """A check of a lot."""

    id = fields.Id("Its id.")
    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part.")
    supplier = fields.Text("Who sent it.")
    opened = fields.DateTime("When it began.")
    opened_by = fields.Text("Who received the lot, or began the check.")
    pieces = fields.Integer("How many of the lot were here.", maximum=None)
    tests = fields.Integer("How many to test; fewer than planned when so many are no longer here.", maximum=None)
    accept = fields.Integer("How many of them may be bad.", maximum=None)
    sure = fields.BoundedNumber(CONFIDENCE_HELP, nullable=True)
    most_bad = fields.BoundedNumber(MOST_BAD_HELP, nullable=True)
    every = fields.Boolean("All that is left is sorted, after the lot was rejected.")
    holds = fields.Boolean("Nobody can take from the lot until it is closed.")
    closed = fields.DateTime("When it was closed; null: it is under way.", nullable=True)
    closed_by = fields.Text("By whom.")
    outcome = fields.Text("How it ended.", choices=("", *CHECK_OUTCOMES, "called off"))
    overridden = fields.Boolean("The owner decided otherwise than the tests, or before they said anything.")
    reason = fields.Text("Why.")
    tested = fields.Integer("How many were tested.", maximum=None)
    bad = fields.Integer("How many of those were bad.", maximum=None)
    left = fields.Integer("How many are here and not tested.", maximum=None)
    verdict = fields.Text("What the tests say; empty: it is not certain yet.", choices=("", "accept", "reject"))
    asks = fields.Text("What it asks, in words.")
    says = fields.Text("What it says, in words.")
    rest = fields.Nested(UntestedRestOut, "What it says of the rest.")
    results = fields.Nested(IncomingResultOut, "What was tested.", many=True)


class DeadOnArrivalQuarterOut(ResponseSchema):
    """What came in one quarter of a year, as far as it was seen."""

    start = fields.Date("Its first day.")
    name = fields.Text("What people call it.")
    seen = fields.Integer("How many were seen to work or to be dead.", maximum=None)
    dead = fields.Integer("How many of them were dead.", maximum=None)
    rate = fields.BoundedNumber("The share.")
    low = fields.BoundedNumber("The lower end of its 90 % interval.")
    high = fields.BoundedNumber("The upper end.")


class DeadOnArrivalOut(ResponseSchema):
    """How many of a supplier's pieces were dead when they came."""

    seen = fields.Integer("How many were seen to work or to be dead.", maximum=None)
    dead = fields.Integer("How many of them were dead.", maximum=None)
    tested = fields.Integer("How many of them were tested.", maximum=None)
    rate = fields.BoundedNumber("The share.")
    low = fields.BoundedNumber("The lower end of its interval.")
    high = fields.BoundedNumber("The upper end.")
    level = fields.BoundedNumber("The chance that the interval holds the rate.")
    enough = fields.Boolean("Enough were seen to say anything.")
    words = fields.Text("The same in words.")
    quarters = fields.Nested(DeadOnArrivalQuarterOut, "By quarter, the oldest first.", many=True)
