"""Provenance, recalls and the files kept with lots."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import BinOut, HoldOut, LotOut, PieceOut
from inventory.api.jobs.job_schemas import JobOut
from inventory.api.schema import Answer, Body
from inventory.domain.common.validation import MOST
from inventory.domain.quality.attachments import KINDS, MEDIA, MOST_BYTES

MANY = MOST * 1000


class OriginOut(Answer):
    """Where a lot came from."""

    words = fields.Text("In a few words.")
    told = fields.Text("In sentences.")
    supplier_id = fields.Ident("The supplier.", nullable=True)
    order_id = fields.Ident("The order.", nullable=True)
    order_number = fields.Text("The order's number.")
    job_id = fields.Ident("The job whose unit gave it, or that left it over.", nullable=True)


class ReachedOut(Answer):
    """A job that something of a lot reached."""

    job = fields.Inner(JobOut, "The job.")
    quantity = fields.Whole("How many are fitted in it, in base units.", most=MANY)
    borrowed = fields.Inner(PieceOut, "Pieces that it borrowed or ran, and did not keep.", many=True)


class LeftOut(Answer):
    """What is left of a lot in one bin."""

    bin = fields.Inner(BinOut, "The bin.")
    quantity = fields.Whole("Loose base units.", most=MANY)
    pieces = fields.Whole("Pieces with labels of their own.", most=MANY)


class TracedPieceOut(Answer):
    """A piece made from a lot, and where it is."""

    piece = fields.Inner(PieceOut, "The piece.")
    where = ma.Function(
        lambda one: one.where.words, metadata={"type": "string", "description": "Where it is, in words."}
    )
    standing = ma.Function(
        lambda one: one.standing.word, metadata={"type": "string", "description": "How far it can be trusted."}
    )


class LotTraceOut(Answer):
    """A lot both ways: where it came from, and where all of it went."""

    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part it is of.")
    origin = fields.Inner(OriginOut, "Where it came from.")
    jobs = fields.Inner(ReachedOut, "The jobs it reached, those still open first.", many=True)
    pieces = fields.Inner(TracedPieceOut, "The pieces made from it.", many=True)
    places = fields.Inner(LeftOut, "What is left, and where.", many=True)
    left = fields.Whole("How much is left, in base units.", most=MANY)
    sent_back = fields.Whole("How much went back to its supplier.", most=MANY)
    scrapped = fields.Whole("How much was scrapped.", least=-MANY, most=MANY)
    otherwise = fields.Whole("How much was used for the bench itself, or was missing at a count.", most=MANY)


class UsedOut(Answer):
    """What a job has of one lot."""

    part = fields.Inner(PartOut, "The part.")
    lot = fields.Inner(LotOut, "The lot.")
    origin = fields.Inner(OriginOut, "Where the lot came from.")
    quantity = fields.Whole("How many, in base units.", most=MANY)
    cost_minor = fields.Whole("Its share of what the lot cost, in minor units.", most=None, nullable=True)
    pieces = fields.Inner(PieceOut, "Those of it with labels of their own.", many=True)


class BorrowedOut(Answer):
    """A piece that a job borrowed for a swap test."""

    id = fields.Ident("The loan.")
    piece_id = fields.Ident("The piece.")
    piece_name = fields.Text("What it is called.")
    suspect = fields.Text("What it was put in place of.")
    taken = fields.Moment("When it was taken.")
    ended = fields.Moment("When it came back; null: it is out.", nullable=True)
    result = fields.Text("What happened; empty: it is out.")
    stayed = fields.Flag("It stayed fitted.")


class ProvedInOut(Answer):
    """A proof that a job gave."""

    id = fields.Ident("The proof.")
    piece_id = fields.Ident("The piece.")
    procedure = fields.Text("How it was proved.")
    at = fields.Moment("When.")
    passed = fields.Flag("It passed.")
    struck = fields.Moment("When it was struck as logged by mistake.", nullable=True)


class JobTraceOut(Answer):
    """A job back to where everything in it came from."""

    job = fields.Inner(JobOut, "The job.")
    used = fields.Inner(UsedOut, "What it used, by lot.", many=True)
    borrowed = fields.Inner(BorrowedOut, "What it borrowed.", many=True)
    proved = fields.Inner(ProvedInOut, "What it proved.", many=True)
    cost_minor = fields.Whole("What the parts cost, as far as it is known, in minor units.", most=None)


class RecallLineOut(Answer):
    """A job that a lot on hold reached, and who saw to it."""

    job = fields.Inner(JobOut, "The job, with the customer and the unit.")
    quantity = fields.Whole("How many are fitted in it, in base units.", most=MANY)
    borrowed = fields.Inner(PieceOut, "Pieces that it borrowed or ran, and did not keep.", many=True)
    seen_to = fields.Moment("When somebody saw to it; null: nobody yet.", nullable=True)
    person = fields.Text("Who saw to it.")
    note = fields.Text("What was done.")


class RecallOut(Answer):
    """The list of jobs to be seen to because of a lot."""

    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part it is of.")
    hold = fields.Inner(HoldOut, "The hold that the list belongs to.")
    lines = fields.Inner(RecallLineOut, "The jobs, those still open first.", many=True)
    left = fields.Whole("How much is left, in base units.", most=MANY)
    to_do = fields.Whole("How many jobs nobody has seen to.")


class SeeToIn(Body):
    """A job of the list that was seen to."""

    job_id = fields.Ident("The job.", required=True)
    note = fields.Text("What was done.", most=300, default="", example="customer called, comes in on Friday")
    done = fields.Flag("false: put it back on the list.", default=True)


class ScrapRestIn(Body):
    """How a recall ended."""

    outcome = fields.Text("What became of it.", least=1, most=300, required=True, example="all scrapped")


class HoldAlikeIn(Body):
    """Which lots to hold as well."""

    lot_ids = fields.Many(
        fields.Ident("A lot that is alike."),
        "The lots, from the list of lots alike.",
        least=1,
        most=100,
        required=True,
    )


class AlikeOut(Answer):
    """Another lot that may have the same fault."""

    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part it is of.")
    why = fields.Text("Why it is thought so.")
    left = fields.Whole("How much is left, in base units.", most=MANY)
    jobs = fields.Whole("How many jobs it reached.")


class HoldsMadeOut(Answer):
    """Holds that were made together."""

    items = fields.Inner(HoldOut, "The holds.", many=True)


class AttachmentIn(Body):
    """A file to keep with a lot."""

    content = fields.Text(
        f"The bytes in Base64 (RFC 4648), at most {MOST_BYTES} bytes decoded.", least=1, required=True
    )
    name = fields.Text("What the file is called.", most=300, default="", example="certificate.pdf")
    kind = fields.Text("What it is.", words=KINDS, default="photo")


class AttachmentOut(Answer):
    """A certificate or photo of a lot."""

    id = fields.Ident("Its id.")
    lot_id = fields.Ident("The lot.")
    kind = fields.Text("What it is.", words=KINDS)
    name = fields.Text("What it is called.")
    media = fields.Text("Its media type, found out from its bytes.", words=tuple(MEDIA))
    size = fields.Whole("Its size in bytes.")
    digest = fields.Text("SHA-256 of its bytes.")
    at = fields.Moment("When it was kept.")
    person = fields.Text("Who kept it.")


class AttachmentContentOut(Answer):
    """A file with its bytes."""

    file = fields.Inner(AttachmentOut, "What it is.")
    content = fields.Text("The bytes in Base64 (RFC 4648).")
