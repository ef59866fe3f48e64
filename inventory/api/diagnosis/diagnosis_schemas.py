"""What was seen on a job, what it says, what to do next, what it turned out to be, which spares to keep."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.diagnosis.diagnosis_records import (
    EVIDENCE_KINDS,
    AssumedFigure,
    ClosingRecord,
    DiagnosisRecord,
    EvidenceRecord,
    EvidenceResult,
    KeptSpare,
    NextStepsRecord,
    SpareValueList,
    SurplusPart,
)
from inventory.domain.diagnosis.past_causes import SuspectSuggestion


class EvidenceIn(BodySchema):
    """What was seen. Which fields go with a kind: see there; chances left out are the shop's or a procedure's."""

    kind = fields.Text(
        "measured (says_bad, sensitivity, specificity), swapped (loan_ids, works), new part (works, lot_id), "
        "repaired (works, bad_if_good, bad_if_bad) or put back (works).",
        choices=EVIDENCE_KINDS, required=True,
    )  # fmt: skip
    suspect_id = fields.Id("The suspect it is about; not for swapped, which is about the pieces.", nullable=True)
    works = fields.Boolean("How the unit then ran: it works, or still fails; null: it was not run.", nullable=True)
    says_bad = fields.Boolean("What the measurement says.", nullable=True)
    sensitivity = fields.BoundedNumber("P(says bad | bad).", nullable=True)
    specificity = fields.BoundedNumber("P(says good | good).", nullable=True)
    bad_if_good = fields.BoundedNumber("P(bad after the repair | good before).", nullable=True)
    bad_if_bad = fields.BoundedNumber("P(bad after the repair | bad before).", nullable=True)
    lot_id = fields.Id("The lot of the new part; null: what the job took last of the suspect's part.", nullable=True)
    loan_ids = fields.List(
        fields.Id("A loan that is out to the job."),
        "The pieces in the unit, by their loans.",
        maximum=21,
        nullable=True,
    )
    note = fields.Text("What else to know.", maximum=1000, default="")


class StrikeEvidenceIn(BodySchema):
    """Why an observation counts no longer."""

    reason = fields.Text(
        "Why it was wrong.", minimum=1, maximum=300, required=True, example="other unit on the bench"
    )


EvidenceOut = response_schema(EvidenceRecord)
EvidenceResultOut = response_schema(EvidenceResult)
DiagnosisOut = response_schema(DiagnosisRecord)
SuggestedSuspectOut = response_schema(SuspectSuggestion, name="SuggestedSuspectOut")
AdviceFigureOut = response_schema(AssumedFigure, name="AdviceFigureOut")
NextStepsOut = response_schema(NextStepsRecord)


class CaseFileOut(ResponseSchema):
    """A job's log as a case for `benchproof diagnose`."""

    name = fields.Text("The job.")
    prior = ma.Dict(
        keys=ma.String(), values=ma.Float(), metadata={"description": "Chance of each suspect before the complaint."}
    )
    leak = fields.BoundedNumber("The same for what is not on the list.")
    steps = ma.List(ma.Dict(), metadata={"description": "What was seen, in order; op says what kind of step."})


JobClosingOut = response_schema(ClosingRecord, name="JobClosingOut")
SurplusPartOut = response_schema(SurplusPart)


class NewSpareIn(BodySchema):
    """Which part that a job did not need becomes a spare: a lot or a piece."""

    lot_id = fields.Id("One loose unit of this lot.", nullable=True)
    piece_id = fields.Id("This piece, which the job has.", nullable=True)
    bin_id = fields.Id("Into this bin; null: the one it came from.", nullable=True)
    name = fields.Text("What the bench calls it.", maximum=40, default="", example="C-07")
    ran = fields.Boolean("The unit did what it should with it: that is its proof.", default=False)


NewSpareOut = response_schema(KeptSpare, name="NewSpareOut")
SpareValueListOut = response_schema(SpareValueList)
