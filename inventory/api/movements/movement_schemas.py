"""Movements: lines of the ledger, the actions that write them, scans and finds."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.stock_schemas import LotOut, PieceOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Query
from inventory.domain.catalogue.history import KINDS
from inventory.domain.common.validation import MOST, ORIGINS
from inventory.domain.movements.receive import TEXTS
from shared.urls import api_path

REASON = 300


def _job() -> fields.Ident:
    return fields.Ident("The job it is for; null: for the bench itself, and then a reason is needed.", nullable=True)


def _instead_of() -> fields.Ident:
    return fields.Ident(
        "The part that the job asked for, when this takes its place: it meets that need, and is use of that.",
        nullable=True,
    )


class MovementOut(Answer):
    """One line of the ledger."""

    id = fields.Whole("Its number in the ledger.", least=1, most=None)
    entry = fields.Whole("The first line of what was done together; undo takes this.", least=1, most=None)
    at = fields.Moment("When it happened.")
    kind = fields.Text("What was done.", words=KINDS)
    part_id = fields.Ident("The part.")
    part_number = fields.Text("The part's number.")
    part_name = fields.Text("What the part is called.")
    unit = fields.Text("The part's base unit.")
    lot_id = fields.Ident("The lot.")
    lot_code = fields.Text("The lot's code.")
    bin_id = fields.Ident("The bin.")
    bin_name = fields.Text("What the bin is called.")
    piece_id = fields.Ident("The piece, if one was meant.", nullable=True)
    piece_name = fields.Text("What the piece is called.")
    quantity = fields.Whole("Base units: above zero into the bin, below zero out of it.", least=-MOST)
    job_id = fields.Ident("The job.", nullable=True)
    job_number = fields.Text("The job's number.")
    person = fields.Text("Who did it.")
    reason = fields.Text("Why.")
    one_off = fields.Flag("Not to be expected again.")
    reverses_id = fields.Whole("The line it undoes.", least=1, most=None, nullable=True)
    reversed = fields.Flag("It was undone.")
    digest = fields.Text("SHA-256 over this line and the digest before it.")


class MovementsQuery(PageQuery):
    """Which lines of the ledger to list."""

    part_id = fields.AskedIdent("Of this part.")
    bin_id = fields.AskedIdent("Of this bin.")
    lot_id = fields.AskedIdent("Of this lot.")
    piece_id = fields.AskedIdent("Of this piece.")
    job_id = fields.AskedIdent("Of this job.")
    person_id = fields.AskedIdent("By this person.")
    kind = fields.Text("Of this kind.", words=KINDS)
    entry = fields.Asked("Done together in this entry.", least=1, most=2**62)
    since = fields.Moment("At this moment or later.")
    until = fields.Moment("Before this moment.")


class DoneOut(Answer):
    """What was done."""

    entry = fields.Whole("Its entry in the ledger; undo takes this.", least=1, most=None)
    sentence = fields.Text("What was done, for people.")
    part_id = fields.Ident("The part.")
    quantity = fields.Whole("Base units; of a count, the difference.", least=-MOST)
    bin_id = fields.Ident("The bin.", nullable=True)
    lot_ids = fields.Many(ma.Integer(), "The lots, in the order in which they were taken.")
    piece_ids = fields.Many(ma.Integer(), "The pieces.")
    job_id = fields.Ident("The job.", nullable=True)
    left_in_bin = fields.Whole("How many are left in the bin.", nullable=True, most=None)
    warnings = fields.Many(ma.String(), "What to watch, in sentences.")


class ReceivedOut(DoneOut):
    """What came in."""

    made_lot = fields.Inner(LotOut, "The lot that was made: print its label.")
    made_pieces = fields.Inner(PieceOut, "The pieces that were made, of a part kept individually.", many=True)


class SingledOutOut(DoneOut):
    """The unit that is now a piece."""

    made_pieces = fields.Inner(PieceOut, "The piece that was made: print its label.", many=True)


class ReceiptIn(Body):
    """What came in."""

    part_id = fields.Ident("The part.", required=True)
    quantity = fields.Whole("How many base units.", least=1, required=True)
    bin_id = fields.Ident("Where it is put.", required=True)
    origin = fields.Text("Where it came from.", words=ORIGINS, default="delivery")
    origin_note = fields.Text("Where it came from, in words.", most=TEXTS["origin_note"], default="")
    supplier_id = fields.Ident("Who delivered it.", nullable=True)
    order_line_id = fields.Ident("The order line it was asked for on.", nullable=True)
    job_id = fields.Ident("The job whose unit gave it, or that left it over.", nullable=True)
    cost_minor = fields.Whole("What all of it cost, in minor units.", nullable=True)
    best_before = fields.Day("Use it before the end of this day.", nullable=True)
    maker_lot = fields.Text("The maker's lot.", most=TEXTS["maker_lot"], default="")
    date_code = fields.Text("The date code on the bag.", most=TEXTS["date_code"], default="")
    raw_code = fields.Text("What the code on the bag said.", most=TEXTS["raw_code"], default="")
    note = fields.Text("What to know about it.", most=TEXTS["note"], default="")


class PullIn(Body):
    """What to take. Name a bin, a part or a lot; which lot it comes from is decided unless one is named."""

    quantity = fields.Whole("How many base units.", least=1, default=1)
    bin_id = fields.Ident("From this bin.", nullable=True)
    part_id = fields.Ident("Of this part.", nullable=True)
    lot_id = fields.Ident("Of this lot and no other.", nullable=True)
    job_id = _job()
    reason = fields.Text("Why, or for what.", most=REASON, default="")
    one_off = fields.Flag("Not to be expected again: the reorder list leaves it out.", default=False)
    past_date_ok = fields.Flag("Take it even if only stock past its date is left.", default=False)
    instead_of = _instead_of()
    differed = fields.Text("How it differs from that, as was known when it was taken.", most=300, default="")


class PullPieceIn(Body):
    """Which piece to take, to stay."""

    job_id = _job()
    reason = fields.Text("Why, or for what.", most=REASON, default="")
    one_off = fields.Flag("Not to be expected again.", default=False)
    instead_of = _instead_of()
    differed = fields.Text("How it differs from that, as was known when it was taken.", most=300, default="")


class PutBackIn(Body):
    """What a job took and did not use. Name a part, a lot or a piece."""

    job_id = fields.Ident("The job.", required=True)
    quantity = fields.Whole("How many base units.", least=1, default=1)
    part_id = fields.Ident("Of this part.", nullable=True)
    lot_id = fields.Ident("Of this lot.", nullable=True)
    piece_id = fields.Ident("This piece.", nullable=True)
    bin_id = fields.Ident("Into this bin; null: the one it came from.", nullable=True)
    reason = fields.Text("Why.", most=REASON, default="")


class MoveIn(Body):
    """What to move: loose units of a lot from a bin, or a piece."""

    to_bin_id = fields.Ident("Into this bin.", required=True)
    quantity = fields.Whole("How many base units.", least=1, default=1)
    bin_id = fields.Ident("From this bin.", nullable=True)
    lot_id = fields.Ident("Of this lot.", nullable=True)
    piece_id = fields.Ident("This piece.", nullable=True)
    reason = fields.Text("Why.", most=REASON, default="")


class ScrapIn(Body):
    """What to throw away: loose units of a lot from a bin, or a piece."""

    reason = fields.Text("Why.", least=1, most=REASON, required=True, example="bent contacts")
    quantity = fields.Whole("How many base units.", least=1, default=1)
    bin_id = fields.Ident("From this bin.", nullable=True)
    lot_id = fields.Ident("Of this lot.", nullable=True)
    piece_id = fields.Ident("This piece.", nullable=True)
    job_id = fields.Ident("The job on which it broke.", nullable=True)


class CountIn(Body):
    """How many loose units of a lot are in a bin."""

    bin_id = fields.Ident("In this bin.", required=True)
    lot_id = fields.Ident("Of this lot.", required=True)
    quantity = fields.Whole("How many were counted.", required=True)
    seen = fields.Whole("What the book said when the count began: refused if it changed since.", nullable=True)
    reason = fields.Text("Why they differ, if known.", most=REASON, default="")


class SingleOutIn(Body):
    """Which loose unit to make a piece with its own label."""

    bin_id = fields.Ident("From this bin.", required=True)
    lot_id = fields.Ident("Of this lot.", required=True)
    name = fields.Text("What the bench calls it.", most=40, default="", example="C-07")
    serial = fields.Text("Its serial number.", most=80, default="")
    spare = fields.Flag("Kept to test with, not to fit.", default=True)
    note = fields.Text("What to know about it.", most=1000, default="")


class UndoIn(Body):
    """Which entry of the ledger to undo."""

    entry = fields.Whole("The entry.", least=1, most=2**62, required=True)
    reason = fields.Text("Why.", most=REASON, default="")


class TextQuery(Query):
    """What was scanned."""

    text = fields.Text("A code, or an address that ends in one.", least=1, most=2000, required=True)


class FindQuery(PageQuery):
    """What to look for."""

    text = fields.Text("Words, a number or a code.", least=1, most=200, required=True)


class ScanOut(Answer):
    """What a code stands for."""

    what = fields.Text("What it is: bin, lot, piece, job or order.")
    id = fields.Ident("Its id.")
    code = fields.Text("Its code, without slips.")
    address = ma.Function(
        lambda one: api_path(one.what, one.id), metadata={"type": "string", "description": "Where to read it."}
    )


class HitOut(Answer):
    """One find."""

    what = fields.Text("What it is: part, bin, lot, piece, job, order or unit model.")
    id = fields.Ident("Its id.")
    title = fields.Text("What people call it.")
    detail = fields.Text("What tells it from others.")
    code = fields.Text("Its code, if it has one.")
    address = ma.Function(
        lambda one: api_path(one.what, one.id), metadata={"type": "string", "description": "Where to read it."}
    )
