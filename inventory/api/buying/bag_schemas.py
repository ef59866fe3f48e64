"""Bag codes, photos, and what was learned of the numbers on bags."""

from __future__ import annotations

from flask_smorest.fields import Upload
from marshmallow import Schema
from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.movements.movement_schemas import ScanOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.buying.bag_pairings import MAX_NUMBER_LENGTH as LONGEST_NUMBER
from inventory.domain.buying.bag_parts import MATCH_SOURCES
from inventory.domain.buying.bag_receipts import MAX_CODE_LENGTH
from inventory.domain.labelling.photo_codes import SYMBOL_USES
from shared.bag_code import MAX_PIECES


class BagCodeIn(BodySchema):
    """What was scanned."""

    text = fields.Text(
        "The code as scanned or pasted; separators may be spelled {GS}, <GS>, ^] and so on.",
        minimum=1,
        maximum=MAX_CODE_LENGTH,
        required=True,
        example="[)>{RS}06{GS}1PWB-H4-200{GS}Q25{GS}1TNG881{RS}{EOT}",
    )
    part_id = fields.Id("The part that somebody said it is; null: by its numbers.", nullable=True)


class UnreadFieldOut(ResponseSchema):
    """A field that the code gives, but not as it can be."""

    field = fields.Text("Its name here; empty for something that has none.")
    sentence = fields.Text("What is wrong with it, and what to do.")


class BagFieldsOut(ResponseSchema):
    """What a bag's code says, field by field; empty or null where it says nothing."""

    standard = fields.Text("MH10.8.2 (in an ISO/IEC 15434 envelope) or GS1.")
    customer_part = fields.Text("Our own number, as the supplier knows it (P).")
    supplier_part = fields.Text("The maker's or supplier's number (1P, AI 240).")
    distributor_part = fields.Text("The distributor's number (30P).")
    gtin = fields.Text("Product number (AI 01), 14 digits.")
    maker = fields.Text("The maker (1V).")
    quantity = fields.Integer("How many are in the bag.", minimum=1, maximum=MAX_PIECES, nullable=True)
    lot = fields.Text("The maker's lot (1T, AI 10).")
    serial = fields.Text("Serial number (S, AI 21).")
    date_code = fields.Text("Date code as printed (9D, 10D, 11D).")
    made = fields.Date("Day of making, or the Monday of the date code's week.", nullable=True)
    best_before = fields.Date("Best before (AI 15).", nullable=True)
    expires = fields.Date("Last day (14D, AI 17).", nullable=True)
    order = fields.Text("Our order (K, AI 400).")
    supplier_order = fields.Text("The supplier's order (1K).")
    packing_list = fields.Text("Packing list (11K).")
    country = fields.Text("Country of origin (4L).")
    unread = fields.Nested(
        UnreadFieldOut, "What it gives, but not as it can be: a quantity of 0, 30 February.", many=True
    )


class PartMatchOut(ResponseSchema):
    """A part that a number on the bag means."""

    part = fields.Nested(PartOut, "The part.")
    number = fields.Text("The number on the bag.")
    how = fields.Text("What says so.", choices=MATCH_SOURCES)
    nearly = fields.Boolean("The number differs in spaces or dashes.")
    words = fields.Text("The same for people.")
    supplier_id = fields.Id("The supplier whose number it is.", nullable=True)


class BagCodeOut(ResponseSchema):
    """What a bag's code says, and what it suggests for a receipt (POST /receipts, with text as raw_code)."""

    text = fields.Text("The code as it is kept, separators spelled.")
    says = fields.Nested(BagFieldsOut, "What it says.", attribute="code")
    part = fields.Nested(PartOut, "The part; null: unknown, or its numbers disagree.", nullable=True)
    sentence = fields.Text("How the part is known, or what to do.")
    matches = fields.Nested(PartMatchOut, "What its numbers mean; choices while part is null.", many=True)
    quantity = fields.Integer("How many base units of the part.", minimum=1, maximum=None, nullable=True)
    order_line_id = ma.Function(
        lambda one: one.line.line.id if one.line else None,
        metadata={"type": ["integer", "null"], "description": "The order line that expects it."},
    )
    supplier_id = fields.Id("Who delivered it, if that is known.", nullable=True)
    maker_lot = fields.Text("The maker's lot.")
    date_code = fields.Text("The date code.")
    best_before = fields.Date("The earlier of best before and last day.", nullable=True)
    received_before = ma.Function(
        lambda one: [lot.id for lot in one.again],
        metadata={
            "type": "array", "items": {"type": "integer"}, "description": "Lots received under this very code.",
        },
    )  # fmt: skip
    doubts = fields.List(ma.String(), "What to look at before it is put in, in sentences.")


class PhotoIn(Schema):
    """A photo of a label or a bag."""

    photo = Upload(
        required=True, metadata={"description": "A JPEG, PNG or WebP, up to the setting for photos (20 MB)."},
        error_messages={"required": "This is missing: send the photo as a file of this name."},
    )  # fmt: skip


class PhotoSymbolOut(ResponseSchema):
    """A code on a photo."""

    text = fields.Text("Its text, separators spelled; of a bag, POST /bag-codes takes it.")
    kind = fields.Text("The kind of symbol.")
    place = fields.Text("Where on the photo, such as top left.")
    what = fields.Text("A label of ours, a supplier's bag, or neither.", choices=SYMBOL_USES)
    title = fields.Text("What to call it.")
    scan = fields.Nested(ScanOut, "What our label is on.", nullable=True)
    sentence = fields.Text("Why it is no use, if it is none.")


class PhotoOut(ResponseSchema):
    """What is on a photo."""

    symbols = fields.Nested(PhotoSymbolOut, "Every code on it, from the top left on.", many=True)


class PairingIn(BodySchema):
    """A number on bags that means a part."""

    number = fields.Text("The number.", minimum=1, maximum=LONGEST_NUMBER, required=True, example="NG-558")
    part_id = fields.Id("The part.", required=True)
    supplier_id = fields.Id("The supplier that prints it.", nullable=True)


class PairingOut(ResponseSchema):
    """What was learned of a number on bags."""

    id = fields.Id("Its id.")
    number = fields.Text("The number, in upper case.")
    part_id = fields.Id("The part that it means.")
    part_number = fields.Text("The part's own number.")
    part_name = fields.Text("What the part is called.")
    supplier_id = fields.Id("Who delivered the bag that it was learned from.", nullable=True)
    supplier = fields.Text("The supplier's name.")
    person = fields.Text("Who said so.")
    at = fields.DateTime("When it was said last.")


class PairingsQuery(PageQuery):
    """Which pairings to list."""

    part_id = fields.QueryId("Of this part.")
    number = fields.Text("Of this number, in any case.", maximum=LONGEST_NUMBER)
