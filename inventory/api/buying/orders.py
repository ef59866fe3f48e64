"""/orders and /order-lines: what was asked of suppliers."""

from __future__ import annotations

from typing import Any

from inventory.api.buying.order_schemas import (
    DeliveryOut,
    LineIn,
    NewLineIn,
    OrderEdit,
    OrderIn,
    OrderLineOut,
    OrderOut,
    OrdersQuery,
    PlaceIn,
)
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.domain.buying import orders as stock
from inventory.domain.buying.order_records import DeliveryRecord, NewLine, OrderLineRecord, OrderRecord
from inventory.domain.catalogue.parts import part
from inventory.domain.common.records import Page
from inventory.web.access import caller

resource = Resource("orders", "What was asked of suppliers: drafted, placed, received in parcels.")
ORDER = OrderOut()


@resource.get("/orders")
@resource.arguments(OrdersQuery(), location="query")
@resource.listed(ORDER)
def orders(asked: dict[str, Any]) -> Page:
    """List orders with their lines, newest first."""
    return stock.orders(**asked)


@resource.post("/orders")
@resource.arguments(OrderIn())
@resource.response(201, ORDER)
def draft_order(given: dict[str, Any]) -> Any:
    """Draft an order."""
    made = stock.draft_order(**given, by=caller().id)
    return made, at("order", made.id)


@resource.get("/orders/<key:order_id>")
@resource.response(200, ORDER)
def order(order_id: int) -> OrderRecord:
    """Read an order with its lines."""
    return stock.order(order_id)


@resource.patch("/orders/<key:order_id>")
@resource.arguments(OrderEdit())
@resource.edited(ORDER, stock.order)
def edit_order(given: dict[str, Any], order_id: int, version: int | None) -> OrderRecord:
    """Change what is noted of an order."""
    return stock.edit_order(order_id, version, **given)


@resource.post("/orders/<key:order_id>/lines")
@resource.arguments(NewLineIn())
@resource.response(201, ORDER, entity=False)
def add_line(given: NewLine, order_id: int) -> Any:
    """Put a part on a draft; the answer is the order."""
    return stock.add_line(order_id, given), at("order", order_id)


@resource.put("/order-lines/<key:line_id>")
@resource.arguments(LineIn())
@resource.edited(ORDER, stock.order_of_line)
def edit_line(given: dict[str, Any], line_id: int, version: int | None) -> OrderRecord:
    """Change how many a draft asks for, or what a line costs; ``If-Match`` and the answer are the order's."""
    return stock.edit_line(line_id, version, **given)


@resource.delete("/order-lines/<key:line_id>")
@resource.edited(ORDER, stock.order_of_line)
def drop_line(line_id: int, version: int | None) -> OrderRecord:
    """Take a part off a draft, or expect no more of it; ``If-Match`` and the answer are the order's."""
    return stock.drop_line(line_id, version)


@resource.post("/orders/<key:order_id>/place")
@resource.arguments(PlaceIn())
@resource.response(200, ORDER)
def place_order(given: dict[str, Any], order_id: int) -> OrderRecord:
    """Note that a draft was sent to its supplier."""
    return stock.place_order(order_id, **given, by=caller().id)


@resource.post("/orders/<key:order_id>/cancel")
@resource.response(200, ORDER)
def cancel_order(order_id: int) -> OrderRecord:
    """Expect nothing more of an order: cancelled when nothing came, else received as far as it was."""
    return stock.cancel_order(order_id)


@resource.get("/orders/<key:order_id>/deliveries")
@resource.arguments(PageQuery(), location="query")
@resource.listed(DeliveryOut(), key=lambda one: one.lot_id)
def deliveries(asked: dict[str, Any], order_id: int) -> list[DeliveryRecord]:
    """List the lots that came in on an order."""
    return stock.deliveries(order_id)


@resource.get("/parts/<key:part_id>/expected")
@resource.arguments(PageQuery(), location="query")
@resource.listed(OrderLineOut(), key=lambda one: one.id, of=part)
def expected(asked: dict[str, Any], part_id: int) -> list[OrderLineRecord]:
    """List the lines of placed orders on which a part is still to come."""
    return stock.expected_lines(part_id)
