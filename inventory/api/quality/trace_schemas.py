"""Provenance, recalls and the files kept with lots."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import BinOut, HoldOut, LotOut, PieceOut
from inventory.api.jobs.job_schemas import JobOut
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.common.validation import MAX_QUANTITY
from inventory.domain.quality.attachments import ATTACHMENT_KINDS, EXTENSION_BY_MEDIA_TYPE, MAX_BYTES

MAX_UNITS = MAX_QUANTITY * 1000


class LotOriginOut(ResponseSchema):
    """Where a lot came from."""

    words = fields.Text("In a few words.")
    told = fields.Text("In sentences.")
    supplier_id = fields.Id("The supplier.", nullable=True)
    order_id = fields.Id("The order.", nullable=True)
    order_number = fields.Text("The order's number.")
    job_id = fields.Id("The job whose unit gave it, or that left it over.", nullable=True)


class ReachedJobOut(ResponseSchema):
    """A job that something of a lot reached."""

    job = fields.Nested(JobOut, "The job.")
    quantity = fields.Integer("How many are fitted in it, in base units.", maximum=MAX_UNITS)
    borrowed = fields.Nested(PieceOut, "Pieces that it borrowed or ran, and did not keep.", many=True)


class RemainingInBinOut(ResponseSchema):
    """What is left of a lot in one bin."""

    bin = fields.Nested(BinOut, "The bin.")
    quantity = fields.Integer("Loose base units.", maximum=MAX_UNITS)
    pieces = fields.Integer("Pieces with labels of their own.", maximum=MAX_UNITS)


class TracedPieceOut(ResponseSchema):
    """A piece made from a lot, and where it is."""

    piece = fields.Nested(PieceOut, "The piece.")
    where = ma.Function(
        lambda one: one.where.words, metadata={"type": "string", "description": "Where it is, in words."}
    )
    standing = ma.Function(
        lambda one: one.standing.word, metadata={"type": "string", "description": "How far it can be trusted."}
    )


class LotTraceOut(ResponseSchema):
    """A lot both ways: where it came from, and where all of it went."""

    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part it is of.")
    origin = fields.Nested(LotOriginOut, "Where it came from.")
    jobs = fields.Nested(ReachedJobOut, "The jobs it reached, those still open first.", many=True)
    pieces = fields.Nested(TracedPieceOut, "The pieces made from it.", many=True)
    places = fields.Nested(RemainingInBinOut, "What is left, and where.", many=True)
    left = fields.Integer("How much is left, in base units.", maximum=MAX_UNITS)
    sent_back = fields.Integer("How much went back to its supplier.", maximum=MAX_UNITS)
    scrapped = fields.Integer("How much was scrapped.", minimum=-MAX_UNITS, maximum=MAX_UNITS)
    otherwise = fields.Integer(
        "How much was used for the bench itself, or was missing at a count.", maximum=MAX_UNITS
    )


class UsedLotOut(ResponseSchema):
    """What a job has of one lot."""

    part = fields.Nested(PartOut, "The part.")
    lot = fields.Nested(LotOut, "The lot.")
    origin = fields.Nested(LotOriginOut, "Where the lot came from.")
    quantity = fields.Integer("How many, in base units.", maximum=MAX_UNITS)
    cost_minor = fields.Integer("Its share of what the lot cost, in minor units.", maximum=None, nullable=True)
    pieces = fields.Nested(PieceOut, "Those of it with labels of their own.", many=True)


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


class JobTraceOut(ResponseSchema):
    """A job back to where everything in it came from."""

    job = fields.Nested(JobOut, "The job.")
    used = fields.Nested(UsedLotOut, "What it used, by lot.", many=True)
    borrowed = fields.Nested(TracedLoanOut, "What it borrowed.", many=True)
    proved = fields.Nested(TracedProofOut, "What it proved.", many=True)
    cost_minor = fields.Integer("What the parts cost, as far as it is known, in minor units.", maximum=None)


class RecallLineOut(ResponseSchema):
    """A job that a lot on hold reached, and who saw to it."""

    job = fields.Nested(JobOut, "The job, with the customer and the unit.")
    quantity = fields.Integer("How many are fitted in it, in base units.", maximum=MAX_UNITS)
    borrowed = fields.Nested(PieceOut, "Pieces that it borrowed or ran, and did not keep.", many=True)
    seen_to = fields.DateTime("When somebody saw to it; null: nobody yet.", nullable=True)
    person = fields.Text("Who saw to it.")
    note = fields.Text("What was done.")


class RecallOut(ResponseSchema):
    """The list of jobs to be seen to because of a lot."""

    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part it is of.")
    hold = fields.Nested(HoldOut, "The hold that the list belongs to.")
    lines = fields.Nested(RecallLineOut, "The jobs, those still open first.", many=True)
    left = fields.Integer("How much is left, in base units.", maximum=MAX_UNITS)
    to_do = fields.Integer("How many jobs nobody has seen to.")


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


class SimilarLotOut(ResponseSchema):
    """Another lot that may have the same fault."""

    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part it is of.")
    why = fields.Text("Why it is thought so.")
    left = fields.Integer("How much is left, in base units.", maximum=MAX_UNITS)
    jobs = fields.Integer("How many jobs it reached.")


class HoldsOut(ResponseSchema):
    """Holds that were made together."""

    items = fields.Nested(HoldOut, "The holds.", many=True)


class AttachmentIn(BodySchema):
    """A file to keep with a lot."""

    content = fields.Text(
        f"The bytes in Base64 (RFC 4648), at most {MAX_BYTES} bytes decoded.", minimum=1, required=True
    )
    name = fields.Text("What the file is called.", maximum=300, default="", example="certificate.pdf")
    kind = fields.Text("What it is.", choices=ATTACHMENT_KINDS, default="photo")


class AttachmentOut(ResponseSchema):
    """A certificate or photo of a lot."""

    id = fields.Id("Its id.")
    lot_id = fields.Id("The lot.")
    kind = fields.Text("What it is.", choices=ATTACHMENT_KINDS)
    name = fields.Text("What it is called.")
    media = fields.Text("Its media type, found out from its bytes.", choices=tuple(EXTENSION_BY_MEDIA_TYPE))
    size = fields.Integer("Its size in bytes.")
    digest = fields.Text("SHA-256 of its bytes.")
    at = fields.DateTime("When it was kept.")
    person = fields.Text("Who kept it.")


class AttachmentContentOut(ResponseSchema):
    """A file with its bytes."""

    file = fields.Nested(AttachmentOut, "What it is.")
    content = fields.Text("The bytes in Base64 (RFC 4648).")
