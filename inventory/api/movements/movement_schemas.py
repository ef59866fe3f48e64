"""Movements: lines of the ledger, the actions that write them, scans and finds."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.stock_schemas import PieceOut
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema, QuerySchema
from inventory.domain.catalogue.history import MOVEMENT_KINDS
from inventory.domain.catalogue.lots import TEXT_LIMITS
from inventory.domain.common.records import ActionResult, MovementRecord, ResolvedCode, SearchHit
from inventory.domain.common.validation import LOT_ORIGINS
from shared.urls import api_path

MAX_REASON_LENGTH = 300


def _job_field() -> fields.Id:
    return fields.Id("The job it is for; null: for the bench itself, and then a reason is needed.", nullable=True)


def _substitute_for_field() -> fields.Id:
    return fields.Id(
        "The part that the job asked for, when this takes its place: it meets that need, and is use of that.",
        nullable=True,
    )


MovementOut = response_schema(MovementRecord)


class MovementsQuery(PageQuery):
    """Which lines of the ledger to list."""

    part_id = fields.QueryId("Of this part.")
    bin_id = fields.QueryId("Of this bin.")
    lot_id = fields.QueryId("Of this lot.")
    piece_id = fields.QueryId("Of this piece.")
    job_id = fields.QueryId("Of this job.")
    person_id = fields.QueryId("By this person.")
    kind = fields.Text("Of this kind.", choices=MOVEMENT_KINDS)
    entry = fields.QueryInteger("Done together in this entry.", minimum=1, maximum=2**62)
    since = fields.DateTime("At this moment or later.")
    until = fields.DateTime("Before this moment.")


ActionResultOut = response_schema(ActionResult, leave_out=("made_lot", "made_pieces"))
ReceiptOut = response_schema(ActionResult, name="ReceiptOut")
SingleOutOut = response_schema(
    ActionResult,
    name="SingleOutOut",
    leave_out=("made_lot",),
    made_pieces=fields.Nested(PieceOut, "The piece that was made: print its label.", many=True),
)


class ReceiptIn(BodySchema):
    """What came in."""

    part_id = fields.Id("The part.", required=True)
    quantity = fields.Integer("How many base units.", minimum=1, required=True)
    bin_id = fields.Id("Where it is put.", required=True)
    origin = fields.Text("Where it came from.", choices=LOT_ORIGINS, default="delivery")
    origin_note = fields.Text("Where it came from, in words.", maximum=TEXT_LIMITS["origin_note"], default="")
    supplier_id = fields.Id("Who delivered it.", nullable=True)
    order_line_id = fields.Id("The order line it was asked for on.", nullable=True)
    job_id = fields.Id("The job whose unit gave it, or that left it over.", nullable=True)
    cost_minor = fields.Integer("What all of it cost, in minor units.", nullable=True)
    best_before = fields.Date("Use it before the end of this day.", nullable=True)
    maker_lot = fields.Text("The maker's lot.", maximum=TEXT_LIMITS["maker_lot"], default="")
    date_code = fields.Text("The date code on the bag.", maximum=TEXT_LIMITS["date_code"], default="")
    raw_code = fields.Text("What the code on the bag said.", maximum=TEXT_LIMITS["raw_code"], default="")
    note = fields.Text("What to know about it.", maximum=TEXT_LIMITS["note"], default="")


class PullIn(BodySchema):
    """What to take. Name a bin, a part or a lot; which lot it comes from is decided unless one is named."""

    quantity = fields.Integer("How many base units.", minimum=1, default=1)
    bin_id = fields.Id("From this bin.", nullable=True)
    part_id = fields.Id("Of this part.", nullable=True)
    lot_id = fields.Id("Of this lot and no other.", nullable=True)
    job_id = _job_field()
    reason = fields.Text("Why, or for what.", maximum=MAX_REASON_LENGTH, default="")
    one_off = fields.Boolean("Not to be expected again: the reorder list leaves it out.", default=False)
    past_date_ok = fields.Boolean("Take it even if only stock past its date is left.", default=False)
    instead_of = _substitute_for_field()
    differed = fields.Text("How it differs from that, as was known when it was taken.", maximum=300, default="")


class PullPieceIn(BodySchema):
    """Which piece to take, to stay."""

    job_id = _job_field()
    reason = fields.Text("Why, or for what.", maximum=MAX_REASON_LENGTH, default="")
    one_off = fields.Boolean("Not to be expected again.", default=False)
    instead_of = _substitute_for_field()
    differed = fields.Text("How it differs from that, as was known when it was taken.", maximum=300, default="")


class PutBackIn(BodySchema):
    """What a job took and did not use. Name a part, a lot or a piece."""

    job_id = fields.Id("The job.", required=True)
    quantity = fields.Integer("How many base units.", minimum=1, default=1)
    part_id = fields.Id("Of this part.", nullable=True)
    lot_id = fields.Id("Of this lot.", nullable=True)
    piece_id = fields.Id("This piece.", nullable=True)
    bin_id = fields.Id("Into this bin; null: the one it came from.", nullable=True)
    reason = fields.Text("Why.", maximum=MAX_REASON_LENGTH, default="")


class MoveIn(BodySchema):
    """What to move: loose units of a lot from a bin, or a piece."""

    to_bin_id = fields.Id("Into this bin.", required=True)
    quantity = fields.Integer("How many base units.", minimum=1, default=1)
    bin_id = fields.Id("From this bin.", nullable=True)
    lot_id = fields.Id("Of this lot.", nullable=True)
    piece_id = fields.Id("This piece.", nullable=True)
    reason = fields.Text("Why.", maximum=MAX_REASON_LENGTH, default="")


class ScrapIn(BodySchema):
    """What to throw away: loose units of a lot from a bin, or a piece."""

    reason = fields.Text("Why.", minimum=1, maximum=MAX_REASON_LENGTH, required=True, example="bent contacts")
    quantity = fields.Integer("How many base units.", minimum=1, default=1)
    bin_id = fields.Id("From this bin.", nullable=True)
    lot_id = fields.Id("Of this lot.", nullable=True)
    piece_id = fields.Id("This piece.", nullable=True)
    job_id = fields.Id("The job on which it broke.", nullable=True)


class CountIn(BodySchema):
    """How many loose units of a lot are in a bin."""

    bin_id = fields.Id("In this bin.", required=True)
    lot_id = fields.Id("Of this lot.", required=True)
    quantity = fields.Integer("How many were counted.", required=True)
    seen = fields.Integer("What the book said when the count began: refused if it changed since.", nullable=True)
    reason = fields.Text("Why they differ, if known.", maximum=MAX_REASON_LENGTH, default="")


class SingleOutIn(BodySchema):
    """Which loose unit to make a piece with its own label."""

    bin_id = fields.Id("From this bin.", required=True)
    lot_id = fields.Id("Of this lot.", required=True)
    name = fields.Text("What the bench calls it.", maximum=40, default="", example="C-07")
    serial = fields.Text("Its serial number.", maximum=80, default="")
    spare = fields.Boolean("Kept to test with, not to fit.", default=True)
    note = fields.Text("What to know about it.", maximum=1000, default="")


class UndoIn(BodySchema):
    """Which entry of the ledger to undo."""

    entry = fields.Integer("The entry.", minimum=1, maximum=2**62, required=True)
    reason = fields.Text("Why.", maximum=MAX_REASON_LENGTH, default="")


class ScanQuery(QuerySchema):
    """What was scanned."""

    text = fields.Text("A code, or an address that ends in one.", minimum=1, maximum=2000, required=True)


class SearchQuery(PageQuery):
    """What to look for."""

    text = fields.Text("Words, a number or a code.", minimum=1, maximum=200, required=True)


def _address_field() -> ma.Function:
    about = {"type": "string", "description": "Where to read it."}
    return ma.Function(lambda one: api_path(one.what, one.id), metadata=about)


ScanOut = response_schema(ResolvedCode, name="ScanOut", address=_address_field())
SearchHitOut = response_schema(SearchHit, address=_address_field())
