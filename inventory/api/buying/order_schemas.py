"""Suppliers, what they sell, and orders."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import body_schema, edit_schema, response_schema
from inventory.api.schema import BodySchema
from inventory.domain.buying.order_records import (
    ORDER_STATUSES,
    DeliveryRecord,
    NewOrderLine,
    OfferRecord,
    OrderLineRecord,
    OrderRecord,
    SupplierRecord,
)
from inventory.domain.buying.suppliers import MAX_PRICE_BREAKS

SupplierOut = response_schema(SupplierRecord)
SupplierIn = body_schema(SupplierRecord)
SupplierEdit = edit_schema(SupplierRecord)


class SuppliersQuery(PageQuery):
    """Which suppliers to list."""

    find = fields.Text("Words that the name holds.", maximum=200)
    active = fields.QueryBoolean("true: those still bought from; false: the others.", default=True)


def _breaks_field() -> fields.List:
    return fields.List(
        fields.List(fields.Integer("Packs, then the price of a pack."), "A pair.", minimum=2, maximum=2),
        "Price breaks: [packs, price of a pack], packs rising, prices falling.",
        maximum=MAX_PRICE_BREAKS,
        example=[[10, 95]],
    )


OfferIn = body_schema(OfferRecord, breaks=_breaks_field())
OfferEdit = edit_schema(OfferRecord, breaks=_breaks_field())
OfferOut = response_schema(
    OfferRecord,
    breaks=fields.List(
        fields.List(fields.Integer("Packs, price."), "A pair."), "Price breaks: [packs, price of a pack]."
    ),
)


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


OrderIn = body_schema(OrderRecord, lines=fields.Nested(OrderLineIn, "What is on it.", many=True))
OrderEdit = edit_schema(OrderRecord)


class OrderLineChangeIn(BodySchema):
    """What to change of a line of an order."""

    quantity = fields.Integer("How many base units (of a draft).", minimum=1)
    cost_minor = fields.Integer("What the line costs.")


class PlaceOrderIn(BodySchema):
    """That a draft was sent."""

    expected = fields.Date("When it is expected; left out: today and the longest stated lead time.", nullable=True)
    reference = fields.Text("The supplier's reference.", maximum=80, nullable=True)


OrderLineOut = response_schema(OrderLineRecord, "outstanding")
OrderOut = response_schema(OrderRecord, "goods_minor", "total_minor")


class OrdersQuery(PageQuery):
    """Which orders to list."""

    status = fields.Text("How they stand.", choices=ORDER_STATUSES)
    supplier_id = fields.QueryId("Of this supplier.")
    part_id = fields.QueryId("With this part on them.")


OrderDeliveryOut = response_schema(DeliveryRecord, name="OrderDeliveryOut")
