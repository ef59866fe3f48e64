"""Suppliers, what they sell, and orders."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Edit
from inventory.domain.buying.order_records import NewLine
from inventory.domain.buying.orders import STATUSES
from inventory.domain.buying.suppliers import LONGEST_LEAD_DAYS, MOST_BREAKS


class SupplierFields(Body):
    """What is noted of a supplier."""

    name = fields.Text("Who it is.", least=1, most=120, required=True, example="Northgate Components")
    lead_days = fields.Whole("Days a delivery takes, as it states.", most=LONGEST_LEAD_DAYS, default=5)
    shipping_minor = fields.Whole("What shipping one parcel costs, in minor units.", default=0)
    email = fields.Text("Where orders are sent.", most=200, default="", example="orders@northgate.example")
    note = fields.Text("What to know about it.", most=5000, default="")


class SupplierIn(SupplierFields):
    """A supplier to be added."""


class SupplierEdit(Edit, SupplierFields):
    """What to change of a supplier."""

    active = fields.Flag("Still bought from.")


class SupplierOut(Answer):
    """Who parts are bought from."""

    id = fields.Ident("Its id.")
    name = fields.Text("Who it is.")
    lead_days = fields.Whole("Days a delivery takes, as it states.")
    shipping_minor = fields.Whole("What shipping one parcel costs, in minor units.")
    email = fields.Text("Where orders are sent.")
    note = fields.Text("What to know about it.")
    active = fields.Flag("Still bought from.")
    created = fields.Moment("When it was added.")
    version = fields.Whole("Counts its edits.")


class SuppliersQuery(PageQuery):
    """Which suppliers to list."""

    find = fields.Text("Words that the name holds.", most=200)
    active = fields.AskedFlag("true: those still bought from; false: the others.", default=True)


class OfferFields(Body):
    """What is noted of an offer."""

    supplier_number = fields.Text("The supplier's number, as on its bags.", most=120, default="")
    pack = fields.Whole("Base units in a pack.", least=1, default=1)
    minimum = fields.Whole("Fewest base units in an order.", least=1, default=1)
    price_minor = fields.Whole("What a pack costs, in minor units.", required=True)
    breaks = fields.Many(
        fields.Many(fields.Whole("Packs, then the price of a pack."), "A pair.", least=2, most=2),
        "Price breaks: [packs, price of a pack], packs rising, prices falling.", most=MOST_BREAKS, example=[[10, 95]],
    )  # fmt: skip
    lead_days = fields.Whole(
        "Days a delivery of it takes; null: the supplier's.", most=LONGEST_LEAD_DAYS, nullable=True
    )
    preferred = fields.Flag("Taken whatever the others cost.", default=False)


class OfferIn(OfferFields):
    """An offer to be noted."""

    part_id = fields.Ident("The part it is of.", required=True)
    supplier_id = fields.Ident("Whose it is.", required=True)


class OfferEdit(Edit, OfferFields):
    """What to change of an offer."""

    active = fields.Flag("Still sold.")


class OfferOut(Answer):
    """What a supplier sells a part for."""

    id = fields.Ident("Its id.")
    part_id = fields.Ident("The part it is of.")
    supplier_id = fields.Ident("Whose it is.")
    supplier = fields.Text("What the supplier is called.")
    supplier_number = fields.Text("The supplier's number.")
    pack = fields.Whole("Base units in a pack.")
    minimum = fields.Whole("Fewest base units in an order.")
    price_minor = fields.Whole("What a pack costs, in minor units.")
    breaks = fields.Many(
        fields.Many(fields.Whole("Packs, price."), "A pair."), "Price breaks: [packs, price of a pack]."
    )
    lead_days = fields.Whole("Days a delivery of it takes; null: the supplier's.", nullable=True)
    stated_days = fields.Whole("Its own lead time, else the supplier's.")
    preferred = fields.Flag("Taken whatever the others cost.")
    active = fields.Flag("Still sold.")
    version = fields.Whole("Counts its edits.")


class OffersQuery(PageQuery):
    """Which offers to list."""

    part_id = fields.AskedIdent("Of this part.")
    supplier_id = fields.AskedIdent("Of this supplier.")
    supplier_number = fields.Text("With just this number of the supplier.", most=120)
    active = fields.AskedFlag("true: those still sold; false: the others.", default=True)


class NewLineIn(Body):
    """A part to be put on an order."""

    part_id = fields.Ident("The part.", required=True)
    quantity = fields.Whole("How many base units, in whole packs.", least=1, required=True)
    offer_id = fields.Ident("By this offer; null: the supplier's best.", nullable=True)
    cost_minor = fields.Whole("What the line costs; null: by the offer's price.", nullable=True)
    job_id = fields.Ident("The job it is ordered for.", nullable=True)

    @post_load
    def _line(self, data: dict[str, Any], **_: Any) -> NewLine:
        return NewLine(**data)


class OrderFields(Body):
    """What is noted of an order."""

    number = fields.Text("The shop's number for it; left out: the next one.", least=1, most=30)
    reference = fields.Text("The supplier's reference.", most=80, default="")
    note = fields.Text("What to know about it.", most=5000, default="")
    shipping_minor = fields.Whole("What shipping costs; left out: the supplier's.")


class OrderIn(OrderFields):
    """An order to be drafted."""

    supplier_id = fields.Ident("Of whom.", required=True)
    lines = fields.Inner(NewLineIn, "What is on it.", many=True)


class OrderEdit(Edit, OrderFields):
    """What to change of an order."""

    expected = fields.Day("When it is expected.", nullable=True)


class LineIn(Body):
    """What to change of a line of an order."""

    quantity = fields.Whole("How many base units (of a draft).", least=1)
    cost_minor = fields.Whole("What the line costs.")


class PlaceIn(Body):
    """That a draft was sent."""

    expected = fields.Day("When it is expected; left out: today and the longest stated lead time.", nullable=True)
    reference = fields.Text("The supplier's reference.", most=80, nullable=True)


class OrderLineOut(Answer):
    """One part of an order."""

    id = fields.Ident("Its id; a receipt names it.")
    order_id = fields.Ident("The order.")
    part = fields.Inner(PartOut, "The part.")
    offer_id = fields.Ident("The offer it is bought by.", nullable=True)
    supplier_number = fields.Text("The supplier's number.")
    pack = fields.Whole("Base units in a pack.")
    quantity = fields.Whole("How many were asked for.")
    received = fields.Whole("How many came.", most=None)
    outstanding = fields.Whole("How many are still to come.")
    cost_minor = fields.Whole("What the line costs, in minor units.", most=None)
    job_id = fields.Ident("The job it is ordered for.", nullable=True)
    job_number = fields.Text("That job's number.")
    dropped = fields.Flag("No more of it is expected.")


class OrderOut(Answer):
    """What was asked of a supplier."""

    id = fields.Ident("Its id.")
    code = fields.Text("What its paper says.")
    number = fields.Text("The shop's number for it.")
    supplier_id = fields.Ident("Of whom.")
    supplier = fields.Text("What the supplier is called.")
    status = fields.Text("How it stands.", words=STATUSES)
    reference = fields.Text("The supplier's reference.")
    note = fields.Text("What to know about it.")
    shipping_minor = fields.Whole("What shipping costs, in minor units.", most=None)
    goods_minor = fields.Whole("What the lines cost together, in minor units.", most=None)
    total_minor = fields.Whole("What it costs, shipping included, in minor units.", most=None)
    created = fields.Moment("When it was drafted.")
    placed = fields.Moment("When it was sent.", nullable=True)
    expected = fields.Day("When it is expected.", nullable=True)
    closed = fields.Moment("When nothing more was to come.", nullable=True)
    person = fields.Text("Who ordered.")
    days_late = fields.Whole("Days past the expected day; 0: it is not late.", most=None)
    lines = fields.Inner(OrderLineOut, "What is on it.", many=True)
    version = fields.Whole("Counts its edits.")


class OrdersQuery(PageQuery):
    """Which orders to list."""

    status = fields.Text("How they stand.", words=STATUSES)
    supplier_id = fields.AskedIdent("Of this supplier.")
    part_id = fields.AskedIdent("With this part on them.")


class DeliveryOut(Answer):
    """A lot that came in on an order."""

    lot_id = fields.Ident("The lot.")
    lot_code = fields.Text("What its label says.")
    order_line_id = fields.Ident("The line it came in on.")
    part_id = fields.Ident("The part.")
    quantity = fields.Whole("How many came.")
    received = fields.Moment("When.")
    days = fields.Whole("Days after the order was placed.", most=None)
