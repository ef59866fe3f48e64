"""Bins, lots, what is in them, holds, and pieces as stock."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, EditSchema, ResponseSchema
from inventory.domain.catalogue.lots import TEXT_LIMITS
from inventory.domain.common.validation import LOT_ORIGINS


class BinFields(BodySchema):
    """What is noted of a bin."""

    name = fields.Text("What it is called.", minimum=1, maximum=60, required=True, example="A-03")
    part_id = fields.Id("The part it is for; null: what comes first.", nullable=True)
    mixed = fields.Boolean("It is for several parts.", default=False)
    walk = fields.Integer("Its place in the count walk.", maximum=1_000_000, default=0)
    note = fields.Text("What to know about it.", maximum=1000, default="")


class BinIn(BinFields):
    """A bin to be added."""


class BinEdit(EditSchema, BinFields):
    """What to change of a bin."""

    retired = fields.Boolean("No longer used; it must be empty.")


class BlankBinsIn(BodySchema):
    """How many bins without a name to make."""

    number = fields.Integer("How many, 1 to 500.", minimum=1, maximum=500, required=True)


class BinOut(ResponseSchema):
    """A place with a label."""

    id = fields.Id("Its id.")
    code = fields.Text("What its label says.", example="B7KM4Q2XR")
    name = fields.Text("What it is called; null until its label is put to use.", nullable=True)
    part_id = fields.Id("The part it is for.", nullable=True)
    mixed = fields.Boolean("It is for several parts.")
    walk = fields.Integer("Its place in the count walk.")
    note = fields.Text("What to know about it.")
    retired = fields.Boolean("No longer used.")
    version = fields.Integer("Counts its edits.")


class BlankBinsOut(ResponseSchema):
    """Bins that were made for labels to be stuck on first."""

    items = fields.Nested(BinOut, "The bins.", many=True)


class BinsQuery(PageQuery):
    """Which bins to list."""

    part_id = fields.QueryId("Of this part.")
    named = fields.QueryBoolean("true: those in use; false: blank labels.")
    retired = fields.QueryBoolean("Those no longer used instead.", default=False)


class LotFields(BodySchema):
    """What may be corrected of a lot."""

    origin_note = fields.Text("Where it came from, in words.", maximum=TEXT_LIMITS["origin_note"])
    maker_lot = fields.Text("The maker's lot.", maximum=TEXT_LIMITS["maker_lot"])
    date_code = fields.Text("The date code on the bag.", maximum=TEXT_LIMITS["date_code"])
    note = fields.Text("What to know about it.", maximum=TEXT_LIMITS["note"])
    best_before = fields.Date("Use it before the end of this day.", nullable=True)
    cost_minor = fields.Integer("What all of it cost, in minor units.", nullable=True)


class LotEdit(EditSchema, LotFields):
    """What to correct of a lot."""


class LotOut(ResponseSchema):
    """What arrived together from one origin."""

    id = fields.Id("Its id.")
    code = fields.Text("What its label says.", example="L4Q2XRB7K")
    part_id = fields.Id("The part it is of.")
    origin = fields.Text("Where it came from.", choices=LOT_ORIGINS)
    origin_note = fields.Text("Where it came from, in words.")
    supplier_id = fields.Id("Who delivered it.", nullable=True)
    order_line_id = fields.Id("The order line it was asked for on.", nullable=True)
    job_id = fields.Id("The job whose unit gave it, or that left it over.", nullable=True)
    received = fields.DateTime("When it came in.")
    quantity = fields.Integer("How many came in, in base units.")
    cost_minor = fields.Integer("What all of it cost, in minor units.", maximum=None, nullable=True)
    maker_lot = fields.Text("The maker's lot.")
    date_code = fields.Text("The date code on the bag.")
    best_before = fields.Date("Use it before the end of this day.", nullable=True)
    opened = fields.Date("The day it was opened.", nullable=True)
    open_until = fields.Date(
        "The last good day once opened; the sooner of this and best_before holds.", nullable=True
    )
    raw_code = fields.Text("What the code on the bag said.")
    note = fields.Text("What to know about it.")
    on_hold = fields.Boolean("Nobody may pull from it.")
    version = fields.Integer("Counts its edits.")


class LotsQuery(PageQuery):
    """Which lots to list."""

    part_id = fields.QueryId("Of this part.")
    supplier_id = fields.QueryId("From this supplier.")
    on_hold = fields.QueryBoolean("Those on hold, or those that are not.")
    maker_lot = fields.Text("With just this lot number of the maker.", maximum=TEXT_LIMITS["maker_lot"])


class HoldIn(BodySchema):
    """Why nobody may pull from a lot."""

    reason = fields.Text("Why.", minimum=1, maximum=300, required=True, example="two of five headers cracked")


class ReleaseIn(BodySchema):
    """What was found about a lot on hold."""

    outcome = fields.Text("What was found.", maximum=300, default="")


class HoldOut(ResponseSchema):
    """A time in which nobody may pull from a lot."""

    id = fields.Id("Its id.")
    lot_id = fields.Id("The lot.")
    reason = fields.Text("Why.")
    person = fields.Text("Who said so.")
    at = fields.DateTime("When it began.")
    ended = fields.DateTime("When it ended; null: it holds.", nullable=True)
    ended_by = fields.Text("Who ended it.")
    outcome = fields.Text("What was found.")
    condemned = fields.Boolean("It ended by scrapping the rest: what comes back stays on hold.")


class HoldingOut(ResponseSchema):
    """So many loose units of one lot in one bin."""

    bin = fields.Nested(BinOut, "The bin.")
    lot = fields.Nested(LotOut, "The lot.")
    quantity = fields.Integer("How many, in base units.")


class HoldingsQuery(PageQuery):
    """Whose loose stock to list."""

    bin_id = fields.QueryId("In this bin.")
    part_id = fields.QueryId("Of this part.")
    lot_id = fields.QueryId("Of this lot.")


class PieceOut(ResponseSchema):
    """One individually known unit."""

    id = fields.Id("Its id.")
    code = fields.Text("What its label says.", example="PX4RC8J2W")
    part_id = fields.Id("The part it is one of.")
    lot_id = fields.Id("The lot it came with.")
    bin_id = fields.Id("Its bin; null: fitted, or thrown away.", nullable=True)
    serial = fields.Text("Its serial number.")
    name = fields.Text("What the bench calls it.", example="C-07")
    spare = fields.Boolean("Kept to test with, not to fit.")
    matings = fields.Integer("How often its connector was mated.")
    note = fields.Text("What to know about it.")
    created = fields.DateTime("When it became known by itself.")
    version = fields.Integer("Counts its edits.")
