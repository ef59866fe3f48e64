"""Bins, lots, what is in them, holds, and pieces as stock."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Edit
from inventory.domain.catalogue.lots import TEXTS
from inventory.domain.common.validation import ORIGINS


class BinFields(Body):
    """What is noted of a bin."""

    name = fields.Text("What it is called.", least=1, most=60, required=True, example="A-03")
    part_id = fields.Ident("The part it is for; null: what comes first.", nullable=True)
    mixed = fields.Flag("It is for several parts.", default=False)
    walk = fields.Whole("Its place in the count walk.", most=1_000_000, default=0)
    note = fields.Text("What to know about it.", most=1000, default="")


class BinIn(BinFields):
    """A bin to be added."""


class BinEdit(Edit, BinFields):
    """What to change of a bin."""

    retired = fields.Flag("No longer used; it must be empty.")


class BlankBinsIn(Body):
    """How many bins without a name to make."""

    number = fields.Whole("How many, 1 to 500.", least=1, most=500, required=True)


class BinOut(Answer):
    """A place with a label."""

    id = fields.Ident("Its id.")
    code = fields.Text("What its label says.", example="B7KM4Q2XR")
    name = fields.Text("What it is called; null until its label is put to use.", nullable=True)
    part_id = fields.Ident("The part it is for.", nullable=True)
    mixed = fields.Flag("It is for several parts.")
    walk = fields.Whole("Its place in the count walk.")
    note = fields.Text("What to know about it.")
    retired = fields.Flag("No longer used.")
    version = fields.Whole("Counts its edits.")


class BlankBinsOut(Answer):
    """Bins that were made for labels to be stuck on first."""

    items = fields.Inner(BinOut, "The bins.", many=True)


class BinsQuery(PageQuery):
    """Which bins to list."""

    part_id = fields.AskedIdent("Of this part.")
    named = fields.AskedFlag("true: those in use; false: blank labels.")
    retired = fields.AskedFlag("Those no longer used instead.", default=False)


class LotFields(Body):
    """What may be corrected of a lot."""

    origin_note = fields.Text("Where it came from, in words.", most=TEXTS["origin_note"])
    maker_lot = fields.Text("The maker's lot.", most=TEXTS["maker_lot"])
    date_code = fields.Text("The date code on the bag.", most=TEXTS["date_code"])
    note = fields.Text("What to know about it.", most=TEXTS["note"])
    best_before = fields.Day("Use it before the end of this day.", nullable=True)
    cost_minor = fields.Whole("What all of it cost, in minor units.", nullable=True)


class LotEdit(Edit, LotFields):
    """What to correct of a lot."""


class LotOut(Answer):
    """What arrived together from one origin."""

    id = fields.Ident("Its id.")
    code = fields.Text("What its label says.", example="L4Q2XRB7K")
    part_id = fields.Ident("The part it is of.")
    origin = fields.Text("Where it came from.", words=ORIGINS)
    origin_note = fields.Text("Where it came from, in words.")
    supplier_id = fields.Ident("Who delivered it.", nullable=True)
    order_line_id = fields.Ident("The order line it was asked for on.", nullable=True)
    job_id = fields.Ident("The job whose unit gave it, or that left it over.", nullable=True)
    received = fields.Moment("When it came in.")
    quantity = fields.Whole("How many came in, in base units.")
    cost_minor = fields.Whole("What all of it cost, in minor units.", most=None, nullable=True)
    maker_lot = fields.Text("The maker's lot.")
    date_code = fields.Text("The date code on the bag.")
    best_before = fields.Day("Use it before the end of this day.", nullable=True)
    opened = fields.Day("The day it was opened.", nullable=True)
    open_until = fields.Day("The last good day once opened; the sooner of this and best_before holds.", nullable=True)
    raw_code = fields.Text("What the code on the bag said.")
    note = fields.Text("What to know about it.")
    on_hold = fields.Flag("Nobody may pull from it.")
    version = fields.Whole("Counts its edits.")


class LotsQuery(PageQuery):
    """Which lots to list."""

    part_id = fields.AskedIdent("Of this part.")
    supplier_id = fields.AskedIdent("From this supplier.")
    on_hold = fields.AskedFlag("Those on hold, or those that are not.")
    maker_lot = fields.Text("With just this lot number of the maker.", most=TEXTS["maker_lot"])


class HoldIn(Body):
    """Why nobody may pull from a lot."""

    reason = fields.Text("Why.", least=1, most=300, required=True, example="two of five headers cracked")


class ReleaseIn(Body):
    """What was found about a lot on hold."""

    outcome = fields.Text("What was found.", most=300, default="")


class HoldOut(Answer):
    """A time in which nobody may pull from a lot."""

    id = fields.Ident("Its id.")
    lot_id = fields.Ident("The lot.")
    reason = fields.Text("Why.")
    person = fields.Text("Who said so.")
    at = fields.Moment("When it began.")
    ended = fields.Moment("When it ended; null: it holds.", nullable=True)
    ended_by = fields.Text("Who ended it.")
    outcome = fields.Text("What was found.")
    condemned = fields.Flag("It ended by scrapping the rest: what comes back stays on hold.")


class HoldingOut(Answer):
    """So many loose units of one lot in one bin."""

    bin = fields.Inner(BinOut, "The bin.")
    lot = fields.Inner(LotOut, "The lot.")
    quantity = fields.Whole("How many, in base units.")


class HoldingsQuery(PageQuery):
    """Whose loose stock to list."""

    bin_id = fields.AskedIdent("In this bin.")
    part_id = fields.AskedIdent("Of this part.")
    lot_id = fields.AskedIdent("Of this lot.")


class PieceOut(Answer):
    """One individually known unit."""

    id = fields.Ident("Its id.")
    code = fields.Text("What its label says.", example="PX4RC8J2W")
    part_id = fields.Ident("The part it is one of.")
    lot_id = fields.Ident("The lot it came with.")
    bin_id = fields.Ident("Its bin; null: fitted, or thrown away.", nullable=True)
    serial = fields.Text("Its serial number.")
    name = fields.Text("What the bench calls it.", example="C-07")
    spare = fields.Flag("Kept to test with, not to fit.")
    matings = fields.Whole("How often its connector was mated.")
    note = fields.Text("What to know about it.")
    created = fields.Moment("When it became known by itself.")
    version = fields.Whole("Counts its edits.")
