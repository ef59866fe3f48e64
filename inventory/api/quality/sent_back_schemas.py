"""What went back to a supplier, and what came of it."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Edit
from inventory.domain.common.validation import MOST
from inventory.domain.quality.sent_back import CAUSES, NOT_STATED, TEXTS

EXPECTED = "The money asked for it, in minor units; null: "


class SendRestBackIn(Body):
    """The rest of a lot on hold, to go back."""

    cause = fields.Text("Why it goes back.", words=CAUSES, required=True)
    supplier_id = fields.Ident("To this supplier; null: the one who sent it.", nullable=True)
    expected_minor = fields.Whole(EXPECTED + "what it had cost, if that is known.", most=MOST, nullable=True)
    reference = fields.Text("What the supplier calls it.", most=TEXTS["reference"], default="", example="RMA 118")
    note = fields.Text("What else to know.", most=TEXTS["note"], default="")


class SendBackIn(SendRestBackIn):
    """What is to go back: loose units of a lot from a bin, or a piece."""

    quantity = fields.Whole("How many base units.", least=1, default=1)
    bin_id = fields.Ident("From this bin.", nullable=True)
    lot_id = fields.Ident("Of this lot.", nullable=True)
    piece_id = fields.Ident("This piece.", nullable=True)


class SentBackEdit(Edit):
    """What may be corrected."""

    expected_minor = fields.Whole(EXPECTED + "nobody knows.", most=MOST, nullable=True)
    reference = fields.Text("What the supplier calls it.", most=TEXTS["reference"])
    note = fields.Text("What else to know.", most=TEXTS["note"])


class SettleIn(Body):
    """What came of it."""

    got_minor = fields.Whole("The money that came, in minor units; 0: none.", most=MOST, required=True)
    outcome = fields.Text("What the supplier said.", most=300, default="", example="credit note 88")


class SentBackQuery(PageQuery):
    """Which to list."""

    supplier_id = fields.AskedIdent("What went to this supplier.")
    lot_id = fields.AskedIdent("Of this lot.")
    waits = fields.AskedFlag("true: those that the supplier has not answered; false: the others.")


class SentBackOut(Answer):
    """Some of a lot that went back to its supplier."""

    id = fields.Ident("Its id.")
    entry = fields.Whole("The entry of the ledger by which it left.", most=None)
    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part it is of.")
    supplier_id = fields.Ident("To whom it went.")
    supplier = fields.Text("What that supplier is called.")
    quantity = fields.Whole("How many base units.", most=None)
    cause = fields.Text("Why.", words=(*CAUSES, NOT_STATED))
    at = fields.Moment("When.")
    person = fields.Text("Who sent it.")
    expected_minor = fields.Whole("The money asked for it, in minor units.", most=None, nullable=True)
    reference = fields.Text("What the supplier calls it.")
    note = fields.Text("What else to know.")
    waits = fields.Flag("The supplier has not answered yet.")
    settled = fields.Moment("When it answered.", nullable=True)
    settled_by = fields.Text("Who noted that.")
    got_minor = fields.Whole("The money that came, in minor units.", most=None, nullable=True)
    outcome = fields.Text("What the supplier said.")
    undone = fields.Flag("The entry was undone: it never left.")
    version = fields.Whole("Counts its edits.", most=None)


class MoneyBackOut(Answer):
    """What went back to suppliers by now."""

    waiting = fields.Whole("How many they have not answered.", most=None)
    expected_minor = fields.Whole("The money asked for those, in minor units.", most=None)
    without_sum = fields.Whole("Of those, how many nobody named a sum for.", most=None)
    settled = fields.Whole("How many they have answered.", most=None)
    got_minor = fields.Whole("The money that came, in minor units.", most=None)
