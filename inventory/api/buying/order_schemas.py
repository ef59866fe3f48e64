"""Suppliers, what they sell, and orders."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, EditSchema, ResponseSchema
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.buying.orders import ORDER_STATUSES
from inventory.domain.buying.suppliers import MAX_LEAD_DAYS, MAX_PRICE_BREAKS


class SupplierFields(BodySchema):
    """What is noted of a supplier."""

    name = fields.Text("Who it is.", minimum=1, maximum=120, required=True, example="Northgate Components")
    lead_days = fields.Integer("Days a delivery takes, as it states.", maximum=MAX_LEAD_DAYS, default=5)
    shipping_minor = fields.Integer("What shipping one parcel costs, in minor units.", default=0)
    email = fields.Text("Where orders are sent.", maximum=200, default="", example="orders@northgate.example")
    note = fields.Text("What to know about it.", maximum=5000, default="")


class SupplierIn(SupplierFields):
    """A supplier to be added."""


class SupplierEdit(EditSchema, SupplierFields):
    """What to change of a supplier."""

    active = fields.Boolean("Still bought from.")


class SupplierOut(ResponseSchema):
    """Who parts are bought from."""

    id = fields.Id("Its id.")
    name = fields.Text("Who it is.")
    lead_days = fields.Integer("Days a delivery takes, as it states.")
    shipping_minor = fields.Integer("What shipping one parcel costs, in minor units.")
    email = fields.Text("Where orders are sent.")
    note = fields.Text("What to know about it.")
    active = fields.Boolean("Still bought from.")
    created = fields.DateTime("When it was added.")
    version = fields.Integer("Counts its edits.")


class SuppliersQuery(PageQuery):
    """Which suppliers to list."""

    find = fields.Text("Words that the name holds.", maximum=200)
    active = fields.QueryBoolean("true: those still bought from; false: the others.", default=True)


class OfferFields(BodySchema):
    """What is noted of an offer."""

    supplier_number = fields.Text("The supplier's number, as on its bags.", maximum=120, default="")
    pack = fields.Integer("Base units in a pack.", minimum=1, default=1)
    minimum = fields.Integer("Fewest base units in an order.", minimum=1, default=1)
    price_minor = fields.Integer("What a pack costs, in minor units.", required=True)
    breaks = fields.List(
        fields.List(fields.Integer("Packs, then the price of a pack."), "A pair.", minimum=2, maximum=2),
        "Price breaks: [packs, price of a pack], packs rising, prices falling.",
        maximum=MAX_PRICE_BREAKS,
        example=[[10, 95]],
    )
    lead_days = fields.Integer(
        "Days a delivery of it takes; null: the supplier's.", maximum=MAX_LEAD_DAYS, nullable=True
    )
    preferred = fields.Boolean("Taken whatever the others cost.", default=False)


class OfferIn(OfferFields):
    """An offer to be noted."""

    part_id = fields.Id("The part it is of.", required=True)
    supplier_id = fields.Id("Whose it is.", required=True)


class OfferEdit(EditSchema, OfferFields):
    """What to change of an offer."""

    active = fields.Boolean("Still sold.")


class OfferOut(ResponseSchema):
    """What a supplier sells a part for."""

    id = fields.Id("Its id.")
    part_id = fields.Id("The part it is of.")
    supplier_id = fields.Id("Whose it is.")
    supplier = fields.Text("What the supplier is called.")
    supplier_number = fields.Text("The supplier's number.")
    pack = fields.Integer("Base units in a pack.")
    minimum = fields.Integer("Fewest base units in an order.")
    price_minor = fields.Integer("What a pack costs, in minor units.")
    breaks = fields.List(
        fields.List(fields.Integer("Packs, price."), "A pair."), "Price breaks: [packs, price of a pack]."
    )
    lead_days = fields.Integer("Days a delivery of it takes; null: the supplier's.", nullable=True)
    stated_days = fields.Integer("Its own lead time, else the supplier's.")
    preferred = fields.Boolean("Taken whatever the others cost.")
    active = fields.Boolean("Still sold.")
    version = fields.Integer("Counts its edits.")


class OffersQuery(PageQuery):
    """Which offers to list."""

    part_id = fields.QueryId("Of this part.")
    supplier_id = fields.QueryId("Of this supplier.")
    supplier_number = fields.Text("With just this number of the supplier.", maximum=120)
    active = fields.QueryBoolean("true: those still sold; false: the others.", default=True)


class OrderLineIn(BodySchema):
    """A part to be put on an order."""

    part_id = fields.Id("The part.", required=True)
    quantity = fields.Integer("How many base units, in whole packs.", minimum=1, required=True)
    offer_id = fields.Id("By this offer; null: the supplier's best.", nullable=True)
    cost_minor = fields.Integer("What the line costs; null: by the offer's price.", nullable=True)
    job_id = fields.Id("The job it is ordered for.", nullable=True)

    @post_load
    def _line(self, data: dict[str, Any], **_: Any) -> NewOrderLine:
        return NewOrderLine(**data)


class OrderFields(BodySchema):
    """What is noted of an order."""

    number = fields.Text("The shop's number for it; left out: the next one.", minimum=1, maximum=30)
    reference = fields.Text("The supplier's reference.", maximum=80, default="")
    note = fields.Text("What to know about it.", maximum=5000, default="")
    shipping_minor = fields.Integer("What shipping costs; left out: the supplier's.")


class OrderIn(OrderFields):
    """An order to be drafted."""

    supplier_id = fields.Id("Of whom.", required=True)
    lines = fields.Nested(OrderLineIn, "What is on it.", many=True)


class OrderEdit(EditSchema, OrderFields):
    """What to change of an order."""

    expected = fields.Date("When it is expected.", nullable=True)


class OrderLineChangeIn(BodySchema):
    """What to change of a line of an order."""

    quantity = fields.Integer("How many base units (of a draft).", minimum=1)
    cost_minor = fields.Integer("What the line costs.")


class PlaceOrderIn(BodySchema):
    """That a draft was sent."""

    expected = fields.Date("When it is expected; left out: today and the longest stated lead time.", nullable=True)
    reference = fields.Text("The supplier's reference.", maximum=80, nullable=True)


class OrderLineOut(ResponseSchema):
    """One part of an order."""

    id = fields.Id("Its id; a receipt names it.")
    order_id = fields.Id("The order.")
    part = fields.Nested(PartOut, "The part.")
    offer_id = fields.Id("The offer it is bought by.", nullable=True)
    supplier_number = fields.Text("The supplier's number.")
    pack = fields.Integer("Base units in a pack.")
    quantity = fields.Integer("How many were asked for.")
    received = fields.Integer("How many came.", maximum=None)
    outstanding = fields.Integer("How many are still to come.")
    cost_minor = fields.Integer("What the line costs, in minor units.", maximum=None)
    job_id = fields.Id("The job it is ordered for.", nullable=True)
    job_number = fields.Text("That job's number.")
    dropped = fields.Boolean("No more of it is expected.")


class OrderOut(ResponseSchema):
    """What was asked of a supplier."""

    id = fields.Id("Its id.")
    code = fields.Text("What its paper says.")
    number = fields.Text("The shop's number for it.")
    supplier_id = fields.Id("Of whom.")
    supplier = fields.Text("What the supplier is called.")
    status = fields.Text("How it stands.", choices=ORDER_STATUSES)
    reference = fields.Text("The supplier's reference.")
    note = fields.Text("What to know about it.")
    shipping_minor = fields.Integer("What shipping costs, in minor units.", maximum=None)
    goods_minor = fields.Integer("What the lines cost together, in minor units.", maximum=None)
    total_minor = fields.Integer("What it costs, shipping included, in minor units.", maximum=None)
    created = fields.DateTime("When it was drafted.")
    placed = fields.DateTime("When it was sent.", nullable=True)
    expected = fields.Date("When it is expected.", nullable=True)
    closed = fields.DateTime("When nothing more was to come.", nullable=True)
    person = fields.Text("Who ordered.")
    days_late = fields.Integer("Days past the expected day; 0: it is not late.", maximum=None)
    lines = fields.Nested(OrderLineOut, "What is on it.", many=True)
    version = fields.Integer("Counts its edits.")


class OrdersQuery(PageQuery):
    """Which orders to list."""

    status = fields.Text("How they stand.", choices=ORDER_STATUSES)
    supplier_id = fields.QueryId("Of this supplier.")
    part_id = fields.QueryId("With this part on them.")


class OrderDeliveryOut(ResponseSchema):
    """A lot that came in on an order."""

    lot_id = fields.Id("The lot.")
    lot_code = fields.Text("What its label says.")
    order_line_id = fields.Id("The line it came in on.")
    part_id = fields.Id("The part.")
    quantity = fields.Integer("How many came.")
    received = fields.DateTime("When.")
    days = fields.Integer("Days after the order was placed.", maximum=None)
