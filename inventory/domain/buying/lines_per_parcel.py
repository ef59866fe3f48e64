"""How many lines share a parcel, and so its shipping: counted in the shop's own orders once there are enough."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from inventory.domain.buying.order_records import SharedParcel
from inventory.domain.common import clock
from inventory.domain.common.shop import Shop, decided
from inventory.store.connection import run
from inventory.store.fields import to_micros

ENOUGH = 6  # assumed: orders from which their own average is better than a guess
BACK = timedelta(days=730)  # assumed: older orders say little of how the shop orders now
SETTING = "lines_a_parcel"

_LINES = """
SELECT o.supplier_id, COUNT(DISTINCT o.id), COUNT(*) FROM orders o JOIN order_lines n ON n.order_id = o.id
WHERE o.placed >= ? AND (n.received > 0 OR NOT n.dropped) GROUP BY o.supplier_id
"""


class SharedParcels:
    """How many lines share a parcel of each supplier: by its own orders, else all the shop's, else assumed."""

    def __init__(self, otherwise: SharedParcel, by_supplier: Mapping[int, SharedParcel]) -> None:
        """Keep what was counted; *otherwise* holds where a supplier has too few orders."""
        self._otherwise, self._by_supplier = otherwise, by_supplier

    def of(self, supplier_id: int | None) -> SharedParcel:
        """Return what is known of a supplier's parcels."""
        return self._by_supplier.get(supplier_id or 0, self._otherwise)


def shared_parcels(own: Shop) -> SharedParcels:
    """Count the lines of the orders placed in the last two years; a number that the owner has set always stands.

    Shipping over lines is what a line pays on average, so it is all lines over all orders.
    """
    if SETTING in decided():
        return SharedParcels(SharedParcel(float(own.lines_a_parcel), 0, "owner"), {})
    found = run(_LINES, to_micros(clock.now() - BACK)).fetchall()
    orders, lines = (sum(int(one[place]) for one in found) for place in (1, 2))
    assumed = SharedParcel(float(own.lines_a_parcel), 0, "assumed")
    return SharedParcels(
        SharedParcel(lines / orders, orders, "shop") if orders >= ENOUGH else assumed,
        {int(key): SharedParcel(n / number, int(number), "supplier") for key, number, n in found if number >= ENOUGH},
    )
