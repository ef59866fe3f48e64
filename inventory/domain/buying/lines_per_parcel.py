"""How many lines share a parcel, and so its shipping: counted in the shop's own orders once there are enough."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from inventory.domain.buying.order_records import LinesPerParcel
from inventory.domain.common import clock
from inventory.domain.common.shop import ShopConfig, overridden_settings
from inventory.store.connection import execute
from inventory.store.fields import to_micros

MIN_ORDERS = 6  # assumed: orders from which their own average is better than a guess
LOOKBACK = timedelta(days=730)  # assumed: older orders say little of how the shop orders now
SETTING_NAME = "lines_a_parcel"

_LINES = """
SELECT o.supplier_id, COUNT(DISTINCT o.id), COUNT(*) FROM orders o JOIN order_lines n ON n.order_id = o.id
WHERE o.placed >= ? AND (n.received > 0 OR NOT n.dropped) GROUP BY o.supplier_id
"""


class LinesPerParcelTable:
    """How many lines share a parcel of each supplier: by its own orders, else all the shop's, else assumed."""

    def __init__(self, default: LinesPerParcel, by_supplier: Mapping[int, LinesPerParcel]) -> None:
        """Keep what was counted; *otherwise* holds where a supplier has too few orders."""
        self._otherwise, self._by_supplier = default, by_supplier

    def of(self, supplier_id: int | None) -> LinesPerParcel:
        """Return what is known of a supplier's parcels."""
        return self._by_supplier.get(supplier_id or 0, self._otherwise)


def count_lines_per_parcel(shop: ShopConfig) -> LinesPerParcelTable:
    """Count the lines of the orders placed in the last two years; a number that the owner has set always stands.

    Shipping over lines is what a line pays on average, so it is all lines over all orders.
    """
    if SETTING_NAME in overridden_settings():
        return LinesPerParcelTable(LinesPerParcel(float(shop.lines_a_parcel), 0, "owner"), {})
    rows = execute(_LINES, to_micros(clock.now() - LOOKBACK)).fetchall()
    orders, lines = (sum(int(row[column]) for row in rows) for column in (1, 2))
    assumed = LinesPerParcel(float(shop.lines_a_parcel), 0, "assumed")
    return LinesPerParcelTable(
        LinesPerParcel(lines / orders, orders, "shop") if orders >= MIN_ORDERS else assumed,
        {
            int(supplier_id): LinesPerParcel(line_count / order_count, int(order_count), "supplier")
            for supplier_id, order_count, line_count in rows
            if order_count >= MIN_ORDERS
        },
    )
