"""Pieces with their standing, procedures and proofs."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import body_schema, edit_schema, response_schema
from inventory.api.schema import BodySchema, QuerySchema
from inventory.domain.common.records import PieceRecord
from inventory.domain.common.validation import PART_KINDS
from inventory.domain.proof.procedures import MAX_CHECKS
from inventory.domain.proof.proof_records import (
    STANDINGS_BEST_FIRST,
    CheckRecord,
    PieceStatus,
    ProcedureRecord,
    ProofRecord,
    ProofResult,
    ResolvedProcedure,
    StandingRecord,
    StandingStep,
    TimelineEntry,
)

PieceEdit = edit_schema(PieceRecord)


class PiecesQuery(PageQuery):
    """Which pieces to list."""

    part_id = fields.QueryId("Of this part.")
    bin_id = fields.QueryId("In this bin.")
    lot_id = fields.QueryId("Of this lot.")
    spare = fields.QueryBoolean("Kept to test with, or not.")
    standing = fields.Text("Of this standing.", choices=STANDINGS_BEST_FIRST)
    out = fields.QueryBoolean("Lent now, or not.")
    gone = fields.QueryBoolean("true: only those fitted or thrown away.", default=False)


StandingReasonOut = response_schema(StandingStep, name="StandingReasonOut")
StandingOut = response_schema(StandingRecord)


class StandingQuery(QuerySchema):
    """At which moment."""

    at = fields.DateTime("As it stood at this moment; left out: now.")


PieceStatusOut = response_schema(PieceStatus)
TimelineEntryOut = response_schema(TimelineEntry)
# ---- procedures ------------------------------------------------------------------------------------------


ProcedureCheckIn = body_schema(CheckRecord, name="ProcedureCheckIn")


def _checks_field() -> fields.Nested:
    return fields.Nested(ProcedureCheckIn, f"What is read, 1 to {MAX_CHECKS}.", many=True, required=True)


ProcedureIn = body_schema(ProcedureRecord, checks=_checks_field())
EditionEdit = edit_schema(ProcedureRecord, name="EditionEdit", checks=_checks_field())


class RetireIn(BodySchema):
    """Whether a procedure is offered."""

    retired = fields.Boolean("true: no longer; false: again.", required=True)


ProcedureCheckOut = response_schema(CheckRecord, "yes_or_no", name="ProcedureCheckOut")
ProcedureOut = response_schema(ProcedureRecord)


class ProceduresQuery(PageQuery):
    """Which procedures to list."""

    kind = fields.Text("For parts of this kind.", choices=PART_KINDS)
    part_id = fields.QueryId("That may prove this part.")


ResolvedProcedureOut = response_schema(ResolvedProcedure)


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


ProofOut = response_schema(ProofRecord)


class ProofsQuery(PageQuery):
    """Which proofs to list."""

    piece_id = fields.QueryId("Of this piece.")
    procedure_id = fields.QueryId("By this edition of a procedure.")
    job_id = fields.QueryId("On this job.")
    passed = fields.QueryBoolean("Those that passed, or those that failed.")


ProofResultOut = response_schema(ProofResult)
