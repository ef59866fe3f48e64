"""Incoming checks: plans, checks, what was tested, and a supplier's rate of dead ones."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import ReadingIn
from inventory.api.record_schemas import body_schema, response_schema
from inventory.api.schema import BodySchema, QuerySchema
from inventory.domain.buying.incoming_records import (
    CHECK_OUTCOMES,
    FATES,
    MAX_TESTS,
    DeadOnArrivalRate,
    IncomingCheckRecord,
    IncomingPlanRecord,
    PlanExample,
)

IncomingPlanIn = body_schema(IncomingPlanRecord)


class IncomingSampleQuery(QuerySchema):
    """A question about one lot."""

    pieces = fields.QueryInteger("How many the lot has.", minimum=1, maximum=10**9, required=True)
    test = fields.QueryInteger("Test so many.", minimum=1, maximum=MAX_TESTS)
    accept = fields.QueryInteger("How many of those may be bad.", maximum=MAX_TESTS)
    sure_percent = fields.QueryInteger("Or: how sure to be, in whole per cent ...", minimum=1, maximum=99)
    bad_percent = fields.QueryInteger("... that at most so many per cent are bad.", minimum=1, maximum=99)


IncomingSampleOut = response_schema(PlanExample, name="IncomingSampleOut")
IncomingPlanOut = response_schema(IncomingPlanRecord, "words", "examples")
IncomingCheckIn = body_schema(IncomingPlanRecord, name="IncomingCheckIn")


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


IncomingCheckOut = response_schema(IncomingCheckRecord)
DeadOnArrivalOut = response_schema(DeadOnArrivalRate, name="DeadOnArrivalOut")
