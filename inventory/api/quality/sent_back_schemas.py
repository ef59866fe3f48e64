"""What went back to a supplier, and what came of it."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import edit_schema, response_schema
from inventory.api.schema import BodySchema
from inventory.domain.common.validation import MAX_QUANTITY
from inventory.domain.quality.sent_back import TEXT_LIMITS
from inventory.domain.quality.sent_back_records import RETURN_CAUSES, MoneyBack, SentBackRecord


class SentBackRestIn(BodySchema):
    """The rest of a lot on hold, to go back."""

    cause = fields.Text("Why it goes back.", choices=RETURN_CAUSES, required=True)
    supplier_id = fields.Id("To this supplier; null: the one who sent it.", nullable=True)
    expected_minor = fields.Integer(
        "The money asked for it, in minor units; null: what it had cost, if that is known.",
        maximum=MAX_QUANTITY,
        nullable=True,
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


SentBackEdit = edit_schema(SentBackRecord)


class SettleSentBackIn(BodySchema):
    """What came of it."""

    got_minor = fields.Integer("The money that came, in minor units; 0: none.", maximum=MAX_QUANTITY, required=True)
    outcome = fields.Text("What the supplier said.", maximum=300, default="", example="credit note 88")


class SentBackQuery(PageQuery):
    """Which to list."""

    supplier_id = fields.QueryId("What went to this supplier.")
    lot_id = fields.QueryId("Of this lot.")
    waits = fields.QueryBoolean("true: those that the supplier has not answered; false: the others.")


SentBackOut = response_schema(SentBackRecord, "waits")
RefundTotalsOut = response_schema(MoneyBack, name="RefundTotalsOut")
