"""Bag codes, photos, and what was learned of the numbers on bags."""

from __future__ import annotations

from flask_smorest.fields import Upload
from marshmallow import Schema
from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.movements.movement_schemas import ScanOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body
from inventory.domain.buying.bag_pairings import LONGEST as LONGEST_NUMBER
from inventory.domain.buying.bag_parts import HOW
from inventory.domain.buying.bag_receipts import LONGEST
from inventory.domain.labelling.photo_codes import WHAT
from shared.bag_code import MOST_PIECES


class BagCodeIn(Body):
    """What was scanned."""

    text = fields.Text(
        "The code as scanned or pasted; separators may be spelled {GS}, <GS>, ^] and so on.",
        least=1, most=LONGEST, required=True, example="[)>{RS}06{GS}1PWB-H4-200{GS}Q25{GS}1TNG881{RS}{EOT}",
    )  # fmt: skip
    part_id = fields.Ident("The part that somebody said it is; null: by its numbers.", nullable=True)


class UnreadOut(Answer):
    """A field that the code gives, but not as it can be."""

    field = fields.Text("Its name here; empty for something that has none.")
    sentence = fields.Text("What is wrong with it, and what to do.")


class BagSaysOut(Answer):
    """What a bag's code says, field by field; empty or null where it says nothing."""

    standard = fields.Text("MH10.8.2 (in an ISO/IEC 15434 envelope) or GS1.")
    customer_part = fields.Text("Our own number, as the supplier knows it (P).")
    supplier_part = fields.Text("The maker's or supplier's number (1P, AI 240).")
    distributor_part = fields.Text("The distributor's number (30P).")
    gtin = fields.Text("Product number (AI 01), 14 digits.")
    maker = fields.Text("The maker (1V).")
    quantity = fields.Whole("How many are in the bag.", least=1, most=MOST_PIECES, nullable=True)
    lot = fields.Text("The maker's lot (1T, AI 10).")
    serial = fields.Text("Serial number (S, AI 21).")
    date_code = fields.Text("Date code as printed (9D, 10D, 11D).")
    made = fields.Day("Day of making, or the Monday of the date code's week.", nullable=True)
    best_before = fields.Day("Best before (AI 15).", nullable=True)
    expires = fields.Day("Last day (14D, AI 17).", nullable=True)
    order = fields.Text("Our order (K, AI 400).")
    supplier_order = fields.Text("The supplier's order (1K).")
    packing_list = fields.Text("Packing list (11K).")
    country = fields.Text("Country of origin (4L).")
    unread = fields.Inner(UnreadOut, "What it gives, but not as it can be: a quantity of 0, 30 February.", many=True)


class MatchOut(Answer):
    """A part that a number on the bag means."""

    part = fields.Inner(PartOut, "The part.")
    number = fields.Text("The number on the bag.")
    how = fields.Text("What says so.", words=HOW)
    nearly = fields.Flag("The number differs in spaces or dashes.")
    words = fields.Text("The same for people.")
    supplier_id = fields.Ident("The supplier whose number it is.", nullable=True)


class BagOut(Answer):
    """What a bag's code says, and what it suggests for a receipt (POST /receipts, with text as raw_code)."""

    text = fields.Text("The code as it is kept, separators spelled.")
    says = fields.Inner(BagSaysOut, "What it says.", attribute="code")
    part = fields.Inner(PartOut, "The part; null: unknown, or its numbers disagree.", nullable=True)
    sentence = fields.Text("How the part is known, or what to do.")
    matches = fields.Inner(MatchOut, "What its numbers mean; choices while part is null.", many=True)
    quantity = fields.Whole("How many base units of the part.", least=1, most=None, nullable=True)
    order_line_id = ma.Function(
        lambda one: one.line.line.id if one.line else None,
        metadata={"type": ["integer", "null"], "description": "The order line that expects it."},
    )
    supplier_id = fields.Ident("Who delivered it, if that is known.", nullable=True)
    maker_lot = fields.Text("The maker's lot.")
    date_code = fields.Text("The date code.")
    best_before = fields.Day("The earlier of best before and last day.", nullable=True)
    received_before = ma.Function(
        lambda one: [lot.id for lot in one.again],
        metadata={
            "type": "array", "items": {"type": "integer"}, "description": "Lots received under this very code.",
        },
    )  # fmt: skip
    doubts = fields.Many(ma.String(), "What to look at before it is put in, in sentences.")


class PhotoIn(Schema):
    """A photo of a label or a bag."""

    photo = Upload(
        required=True, metadata={"description": "A JPEG, PNG or WebP, up to the setting for photos (20 MB)."},
        error_messages={"required": "This is missing: send the photo as a file of this name."},
    )  # fmt: skip


class SymbolOut(Answer):
    """A code on a photo."""

    text = fields.Text("Its text, separators spelled; of a bag, POST /bag-codes takes it.")
    kind = fields.Text("The kind of symbol.")
    place = fields.Text("Where on the photo, such as top left.")
    what = fields.Text("A label of ours, a supplier's bag, or neither.", words=WHAT)
    title = fields.Text("What to call it.")
    scan = fields.Inner(ScanOut, "What our label is on.", nullable=True)
    sentence = fields.Text("Why it is no use, if it is none.")


class PhotoOut(Answer):
    """What is on a photo."""

    symbols = fields.Inner(SymbolOut, "Every code on it, from the top left on.", many=True)


class PairingIn(Body):
    """A number on bags that means a part."""

    number = fields.Text("The number.", least=1, most=LONGEST_NUMBER, required=True, example="NG-558-ND")
    part_id = fields.Ident("The part.", required=True)
    supplier_id = fields.Ident("The supplier that prints it.", nullable=True)


class PairingOut(Answer):
    """What was learned of a number on bags."""

    id = fields.Ident("Its id.")
    number = fields.Text("The number, in upper case.")
    part_id = fields.Ident("The part that it means.")
    part_number = fields.Text("The part's own number.")
    part_name = fields.Text("What the part is called.")
    supplier_id = fields.Ident("Who delivered the bag that it was learned from.", nullable=True)
    supplier = fields.Text("The supplier's name.")
    person = fields.Text("Who said so.")
    at = fields.Moment("When it was said last.")


class PairingsQuery(PageQuery):
    """Which pairings to list."""

    part_id = fields.AskedIdent("Of this part.")
    number = fields.Text("Of this number, in any case.", most=LONGEST_NUMBER)
