"""/orders and /order-lines: what was asked of suppliers."""

from __future__ import annotations

from typing import Any

from inventory.api.buying.order_schemas import (
    OrderDeliveryOut,
    OrderEdit,
    OrderIn,
    OrderLineChangeIn,
    OrderLineIn,
    OrderLineOut,
    OrderOut,
    OrdersQuery,
    PlaceOrderIn,
)
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.buying import orders as domain
from inventory.domain.buying.order_records import DeliveryRecord, NewOrderLine, OrderLineRecord, OrderRecord
from inventory.domain.catalogue.parts import part
from inventory.domain.common.records import ResultPage
from inventory.web.access import current_person

resource = Resource("orders", "What was asked of suppliers: drafted, placed, received in parcels.")
ORDER = OrderOut()


@resource.get("/orders")
@resource.arguments(OrdersQuery(), location="query")
@resource.listed(ORDER)
def orders(params: dict[str, Any]) -> ResultPage:
    """List orders with their lines, newest first."""
    return domain.orders(**params)


@resource.post("/orders")
@resource.arguments(OrderIn())
@resource.response(201, ORDER)
def draft_order(data: dict[str, Any]) -> Any:
    """Draft an order."""
    order = domain.draft_order(**data, by=current_person().id)
    return order, location_header("order", order.id)


@resource.get("/orders/<key:order_id>")
@resource.response(200, ORDER)
def order(order_id: int) -> OrderRecord:
    """Read an order with its lines."""
    return domain.order(order_id)


@resource.patch("/orders/<key:order_id>")
@resource.arguments(OrderEdit())
@resource.edited(ORDER, domain.order)
def edit_order(data: dict[str, Any], order_id: int, version: int | None) -> OrderRecord:
    """Change what is noted of an order."""
    return domain.edit_order(order_id, version, **data)


@resource.post("/orders/<key:order_id>/lines")
@resource.arguments(OrderLineIn())
@resource.response(201, ORDER, with_etag=False)
def add_line(data: NewOrderLine, order_id: int) -> Any:
    """Put a part on a draft; the answer is the order."""
    return domain.add_line(order_id, data), location_header("order", order_id)


@resource.put("/order-lines/<key:line_id>")
@resource.arguments(OrderLineChangeIn())
@resource.edited(ORDER, domain.order_of_line)
def edit_line(data: dict[str, Any], line_id: int, version: int | None) -> OrderRecord:
    """Change how many a draft asks for, or what a line costs; ``If-Match`` and the answer are the order's."""
    return domain.edit_line(line_id, version, **data)


@resource.delete("/order-lines/<key:line_id>")
@resource.edited(ORDER, domain.order_of_line)
def drop_line(line_id: int, version: int | None) -> OrderRecord:
    """Take a part off a draft, or expect no more of it; ``If-Match`` and the answer are the order's."""
    return domain.drop_line(line_id, version)


@resource.post("/orders/<key:order_id>/place")
@resource.arguments(PlaceOrderIn())
@resource.response(200, ORDER)
def place_order(data: dict[str, Any], order_id: int) -> OrderRecord:
    """Note that a draft was sent to its supplier."""
    return domain.place_order(order_id, **data, by=current_person().id)


@resource.post("/orders/<key:order_id>/cancel")
@resource.response(200, ORDER)
def cancel_order(order_id: int) -> OrderRecord:
    """Expect nothing more of an order: cancelled when nothing came, else received as far as it was."""
    return domain.cancel_order(order_id)


@resource.get("/orders/<key:order_id>/deliveries")
@resource.arguments(PageQuery(), location="query")
@resource.listed(OrderDeliveryOut(), key="lot_id")
def order_deliveries(params: dict[str, Any], order_id: int) -> list[DeliveryRecord]:
    """List the lots that came in on an order."""
    return domain.deliveries(order_id)


@resource.get("/parts/<key:part_id>/expected")
@resource.arguments(PageQuery(), location="query")
@resource.listed(OrderLineOut(), key="id", parent=part)
def expected_lines(params: dict[str, Any], part_id: int) -> list[OrderLineRecord]:
    """List the lines of placed orders on which a part is still to come."""
    return domain.open_order_lines(part_id)
