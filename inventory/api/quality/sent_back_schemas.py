"""What went back to a supplier, and what came of it."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, EditSchema, ResponseSchema
from inventory.domain.common.validation import MAX_QUANTITY
from inventory.domain.quality.sent_back import CAUSE_NOT_STATED, RETURN_CAUSES, TEXT_LIMITS

EXPECTED_HELP = "The money asked for it, in minor units; null: "


class SentBackRestIn(BodySchema):
    """The rest of a lot on hold, to go back."""

    cause = fields.Text("Why it goes back.", choices=RETURN_CAUSES, required=True)
    supplier_id = fields.Id("To this supplier; null: the one who sent it.", nullable=True)
    expected_minor = fields.Integer(
        EXPECTED_HELP + "what it had cost, if that is known.", maximum=MAX_QUANTITY, nullable=True
    )
    reference = fields.Text(
        "What the supplier calls it.", maximum=TEXT_LIMITS["reference"], default="", example="RMA 118"
    )
    note = fields.Text("What else to know.", maximum=TEXT_LIMITS["note"], default="")


class SentBackIn(SentBackRestIn):
    """What is to go back: loose units of a lot from a bin, or a piece."""

    quantity = fields.Integer("How many base units.", minimum=1, default=1)
    bin_id = fields.Id("From this bin.", nullable=True)
    lot_id = fields.Id("Of this lot.", nullable=True)
    piece_id = fields.Id("This piece.", nullable=True)


class SentBackEdit(EditSchema):
    """What may be corrected."""

    expected_minor = fields.Integer(EXPECTED_HELP + "nobody knows.", maximum=MAX_QUANTITY, nullable=True)
    reference = fields.Text("What the supplier calls it.", maximum=TEXT_LIMITS["reference"])
    note = fields.Text("What else to know.", maximum=TEXT_LIMITS["note"])


class SettleSentBackIn(BodySchema):
    """What came of it."""

    got_minor = fields.Integer("The money that came, in minor units; 0: none.", maximum=MAX_QUANTITY, required=True)
    outcome = fields.Text("What the supplier said.", maximum=300, default="", example="credit note 88")


class SentBackQuery(PageQuery):
    """Which to list."""

    supplier_id = fields.QueryId("What went to this supplier.")
    lot_id = fields.QueryId("Of this lot.")
    waits = fields.QueryBoolean("true: those that the supplier has not answered; false: the others.")


class SentBackOut(ResponseSchema):
    """Some of a lot that went back to its supplier."""

    id = fields.Id("Its id.")
    entry = fields.Integer("The entry of the ledger by which it left.", maximum=None)
    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part it is of.")
    supplier_id = fields.Id("To whom it went.")
    supplier = fields.Text("What that supplier is called.")
    quantity = fields.Integer("How many base units.", maximum=None)
    cause = fields.Text("Why.", choices=(*RETURN_CAUSES, CAUSE_NOT_STATED))
    at = fields.DateTime("When.")
    person = fields.Text("Who sent it.")
    expected_minor = fields.Integer("The money asked for it, in minor units.", maximum=None, nullable=True)
    reference = fields.Text("What the supplier calls it.")
    note = fields.Text("What else to know.")
    waits = fields.Boolean("The supplier has not answered yet.")
    settled = fields.DateTime("When it answered.", nullable=True)
    settled_by = fields.Text("Who noted that.")
    got_minor = fields.Integer("The money that came, in minor units.", maximum=None, nullable=True)
    outcome = fields.Text("What the supplier said.")
    undone = fields.Boolean("The entry was undone: it never left.")
    version = fields.Integer("Counts its edits.", maximum=None)


class RefundTotalsOut(ResponseSchema):
    """What went back to suppliers by now."""

    waiting = fields.Integer("How many they have not answered.", maximum=None)
    expected_minor = fields.Integer("The money asked for those, in minor units.", maximum=None)
    without_sum = fields.Integer("Of those, how many nobody named a sum for.", maximum=None)
    settled = fields.Integer("How many they have answered.", maximum=None)
    got_minor = fields.Integer("The money that came, in minor units.", maximum=None)
