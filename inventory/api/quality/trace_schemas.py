"""Provenance, recalls and the files kept with lots."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.stock_schemas import HoldOut, PieceOut
from inventory.api.record_schemas import body_schema, response_schema
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.quality.attachments import MAX_BYTES
from inventory.domain.quality.trace_records import (
    AttachmentRecord,
    JobTrace,
    LotTrace,
    Recall,
    SimilarLot,
)


class TracedPieceOut(ResponseSchema):
    """A piece made from a lot, and where it is."""

    piece = fields.Nested(PieceOut, "The piece.")
    where = ma.Function(
        lambda one: one.where.words, metadata={"type": "string", "description": "Where it is, in words."}
    )
    standing = ma.Function(
        lambda one: one.standing.word, metadata={"type": "string", "description": "How far it can be trusted."}
    )


LotTraceOut = response_schema(
    LotTrace, "left", pieces=fields.Nested(TracedPieceOut, "The pieces made from it.", many=True)
)


class TracedLoanOut(ResponseSchema):
    """A piece that a job borrowed for a swap test."""

    id = fields.Id("The loan.")
    piece_id = fields.Id("The piece.")
    piece_name = fields.Text("What it is called.")
    suspect = fields.Text("What it was put in place of.")
    taken = fields.DateTime("When it was taken.")
    ended = fields.DateTime("When it came back; null: it is out.", nullable=True)
    result = fields.Text("What happened; empty: it is out.")
    stayed = fields.Boolean("It stayed fitted.")


class TracedProofOut(ResponseSchema):
    """A proof that a job gave."""

    id = fields.Id("The proof.")
    piece_id = fields.Id("The piece.")
    procedure = fields.Text("How it was proved.")
    at = fields.DateTime("When.")
    passed = fields.Boolean("It passed.")
    struck = fields.DateTime("When it was struck as logged by mistake.", nullable=True)


JobTraceOut = response_schema(
    JobTrace,
    "cost_minor",
    borrowed=fields.Nested(TracedLoanOut, "What it borrowed.", many=True),
    proved=fields.Nested(TracedProofOut, "What it proved.", many=True),
)
RecallOut = response_schema(Recall, "to_do")


class RecallJobDoneIn(BodySchema):
    """A job of the list that was seen to."""

    job_id = fields.Id("The job.", required=True)
    note = fields.Text("What was done.", maximum=300, default="", example="customer called, comes in on Friday")
    done = fields.Boolean("false: put it back on the list.", default=True)


class EndRecallIn(BodySchema):
    """How a recall ended."""

    outcome = fields.Text("What became of it.", minimum=1, maximum=300, required=True, example="all scrapped")


class HoldSimilarIn(BodySchema):
    """Which lots to hold as well."""

    lot_ids = fields.List(
        fields.Id("A lot that is alike."),
        "The lots, from the list of lots alike.",
        minimum=1,
        maximum=100,
        required=True,
    )


SimilarLotOut = response_schema(SimilarLot)


class HoldsOut(ResponseSchema):
    """Holds that were made together."""

    items = fields.Nested(HoldOut, "The holds.", many=True)


AttachmentIn = body_schema(
    AttachmentRecord,
    content=fields.Text(
        f"The bytes in Base64 (RFC 4648), at most {MAX_BYTES} bytes decoded.", minimum=1, required=True
    ),
)
AttachmentOut = response_schema(AttachmentRecord)


class AttachmentContentOut(ResponseSchema):
    """A file with its bytes."""

    file = fields.Nested(AttachmentOut, "What it is.")
    content = fields.Text("The bytes in Base64 (RFC 4648).")
