"""What is still to come: open lines of placed orders, the soonest first."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.buying.order_records import OrderLineRecord, OrderRecord
from inventory.domain.buying.orders import orders

MOST = 100


@dataclass(frozen=True)
class Expected:
    """A line on which something is still to come, with its order."""

    order: OrderRecord
    line: OrderLineRecord


def expected(part_id: int | None = None) -> list[Expected]:
    """Return what is still to come of a part, or of every part."""
    placed = orders(status="placed", part_id=part_id, limit=MOST).items
    return [
        Expected(one, line)
        for one in sorted(placed, key=lambda order: (order.expected is None, order.expected, order.id))
        for line in one.lines
        if line.outstanding and part_id in (None, line.part.id)
    ]
