"""Bag codes, photos, and what was learned of the numbers on bags."""

from __future__ import annotations

from flask_smorest.fields import Upload
from marshmallow import Schema
from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import body_schema, response_schema
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.buying.bag_pairings import MAX_NUMBER_LENGTH as LONGEST_NUMBER
from inventory.domain.buying.bag_pairings import PairingRecord
from inventory.domain.buying.bag_parts import PartMatch
from inventory.domain.buying.bag_receipts import MAX_CODE_LENGTH
from inventory.domain.labelling.photo_codes import ScannedSymbol
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


class OtherFieldOut(ResponseSchema):
    """Something a bag's code says that fills no field of ours."""

    identifier = fields.Text("Its identifier in the code.")
    meaning = fields.Text("What the identifier means; empty: not known here.")
    value = fields.Text("What it says.")


class BagFieldsOut(ResponseSchema):
    """What a bag's code says, field by field; empty or null where it says nothing."""

    standard = fields.Text("MH10.8.2 (data identifiers), GS1, GS1 Digital Link, or keys and values.")
    customer_part = fields.Text("Our own number, as the supplier knows it (P).")
    supplier_part = fields.Text("The maker's or supplier's number (1P, AI 240).")
    distributor_part = fields.Text("The distributor's number (30P).")
    gtin = fields.Text("Product number (AI 01), 14 digits.")
    maker = fields.Text("The maker (1V).")
    quantity = fields.Integer("How many are in the bag.", minimum=1, maximum=MAX_PIECES, nullable=True)
    amount = fields.Text("How much is in the bag, with its unit, when not in pieces (7Q, AI 310 to 315).")
    lot = fields.Text("The maker's lot (1T, AI 10).")
    serial = fields.Text("Serial number (S, AI 21).")
    date_code = fields.Text("Date code as printed (9D, 10D, 11D).")
    made = fields.Date("Day of making, or the Monday of the date code's week.", nullable=True)
    best_before = fields.Date("Best before (25D, AI 15).", nullable=True)
    expires = fields.Date("Last day (14D, 15D, AI 17).", nullable=True)
    order = fields.Text("Our order (K, AI 400).")
    supplier_order = fields.Text("The supplier's order (1K).")
    packing_list = fields.Text("Packing list (11K).")
    country = fields.Text("Country of origin (4L).")
    others = fields.Nested(OtherFieldOut, "What it says beyond that, which fills no field.", many=True)
    unread = fields.Nested(
        UnreadFieldOut, "What it gives, but not as it can be: a quantity of 0, 30 February.", many=True
    )


PartMatchOut = response_schema(PartMatch)


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


PhotoSymbolOut = response_schema(ScannedSymbol, name="PhotoSymbolOut")


class PhotoOut(ResponseSchema):
    """What is on a photo."""

    symbols = fields.Nested(PhotoSymbolOut, "Every code on it, from the top left on.", many=True)


PairingIn = body_schema(PairingRecord)
PairingOut = response_schema(PairingRecord)


class PairingsQuery(PageQuery):
    """Which pairings to list."""

    part_id = fields.QueryId("Of this part.")
    number = fields.Text("Of this number, in any case.", maximum=LONGEST_NUMBER)
