"""How long deliveries take: what is stated, mixed with what placed orders have taught.

A parcel is what came in on one order on one day. It teaches the lead time of everything that the supplier states
the same lead time for, so that parts from stock and parts made to order do not blur.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from inventory.domain.buying.order_records import LeadRecord
from inventory.domain.buying.orders import UNDONE_LOTS
from inventory.domain.common.shop import Shop
from inventory.reckoning.reorder.demand import IntArray
from inventory.reckoning.reorder.lead_time import LeadTimes, lead_times, quantile_days
from inventory.store.connection import run

DAY = 86_400_000_000  # microseconds
Key = tuple[int | None, int]  # supplier (None: nobody) and stated days
_FEW = 8  # suppliers asked for by name; more, all of them

_PARCELS = f"""
SELECT o.supplier_id, COALESCE(f.lead_days, s.lead_days), o.placed, MIN(l.received)
FROM lots l JOIN order_lines n ON n.id = l.order_line_id JOIN orders o ON o.id = n.order_id
JOIN suppliers s ON s.id = o.supplier_id LEFT JOIN offers f ON f.id = n.offer_id
WHERE o.placed IS NOT NULL AND l.id NOT IN ({UNDONE_LOTS}){{only}}
GROUP BY o.supplier_id, COALESCE(f.lead_days, s.lead_days), o.id, o.placed, l.received / {DAY}
"""


@dataclass(frozen=True)
class Leads:
    """The lead times of some suppliers, and where each (supplier, stated days) has its place among them."""

    keys: tuple[Key, ...]
    place: dict[Key, int]
    times: LeadTimes
    names: dict[int, str]

    def places(self, keys: Iterable[Key]) -> IntArray:
        """Return the places of some keys."""
        return np.array([self.place[key] for key in keys], np.int64)

    def record(self, key: Key) -> LeadRecord:
        """Say what is known of one lead time."""
        at = np.array([self.place[key]])
        _, chances = self.times.chances(at)
        supplier_id, stated = key
        return LeadRecord(
            supplier_id=supplier_id, supplier=self.names.get(supplier_id or 0, ""), stated_days=stated,
            deliveries=int(self.times.deliveries()[at[0]]), mean_days=float(self.times.mean_days()[at[0]]),
            ninety_days=int(quantile_days(chances, 0.9)[0]), assumed=supplier_id is None,
        )  # fmt: skip


def learned(keys: Iterable[Key], shop: Shop) -> Leads:
    """Learn the lead times of (supplier, stated days) pairs from the parcels that came in."""
    wanted = tuple(dict.fromkeys(keys))
    place = {key: number for number, key in enumerate(wanted)}
    seen = [(place[key], days) for key, days in _parcels({key[0] for key in wanted} - {None}) if key in place]
    times = lead_times(
        [stated for _, stated in wanted],
        [number for number, _ in seen],
        [days for _, days in seen],
        shop.lead_constants,
    )
    names = {int(key): str(name) for key, name in run("SELECT id, name FROM suppliers").fetchall()}
    return Leads(wanted, place, times, names)


def lead_of_supplier(supplier_id: int, stated_days: int, shop: Shop) -> LeadRecord:
    """Say how long a supplier's deliveries take, stated in so many days."""
    key = (supplier_id, stated_days)
    return learned([key], shop).record(key)


def _parcels(supplier_ids: set[int | None]) -> list[tuple[Key, float]]:
    only = f" AND o.supplier_id IN ({', '.join('?' * len(supplier_ids))})" if len(supplier_ids) <= _FEW else ""
    if not supplier_ids:
        return []
    return [
        ((int(supplier), int(stated)), (int(received) - int(placed)) / DAY)
        for supplier, stated, placed, received in run(
            _PARCELS.format(only=only), *(supplier_ids if only else ())
        ).fetchall()
    ]
