"""What is still to come: open lines of placed orders, the soonest first."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.buying.order_records import OrderLineRecord, OrderRecord
from inventory.domain.buying.orders import orders

MAX_ORDERS = 100


@dataclass(frozen=True)
class ExpectedDelivery:
    """A line on which something is still to come, with its order."""

    order: OrderRecord
    line: OrderLineRecord


def expected_deliveries(part_id: int | None = None) -> list[ExpectedDelivery]:
    """Return what is still to come of a part, or of every part."""
    placed = orders(status="placed", part_id=part_id, limit=MAX_ORDERS).items
    return [
        ExpectedDelivery(one, line)
        for one in sorted(placed, key=lambda order: (order.expected is None, order.expected, order.id))
        for line in one.lines
        if line.outstanding and part_id in (None, line.part.id)
    ]
