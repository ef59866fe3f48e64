"""Lead times: what suppliers state, mixed with what placed orders have taught.

A parcel is what came in on one order on one day. It teaches the lead time of everything that the supplier states
the same lead time for, so that parts from stock and parts made to order do not blur.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from inventory.domain.buying.order_records import LeadTimeRecord
from inventory.domain.buying.orders import UNDONE_LOTS_SQL
from inventory.domain.common.shop import ShopConfig
from inventory.reckoning.reorder.demand import IntArray
from inventory.reckoning.reorder.lead_time import LearnedLeadTimes, learn_lead_times, quantile_days
from inventory.store.connection import execute
from inventory.store.fields import MICROS_PER_DAY

LeadTimeKey = tuple[int | None, int]  # supplier (None: nobody) and stated days
_MAX_IN_FILTER = 8  # suppliers asked for by name; more, all of them

_PARCELS = f"""
SELECT o.supplier_id, COALESCE(f.lead_days, s.lead_days), o.placed, MIN(l.received)
FROM lots l JOIN order_lines n ON n.id = l.order_line_id JOIN orders o ON o.id = n.order_id
JOIN suppliers s ON s.id = o.supplier_id LEFT JOIN offers f ON f.id = n.offer_id
WHERE o.placed IS NOT NULL AND l.id NOT IN ({UNDONE_LOTS_SQL}){{only}}
GROUP BY o.supplier_id, COALESCE(f.lead_days, s.lead_days), o.id, o.placed, l.received / {MICROS_PER_DAY}
"""


@dataclass(frozen=True)
class LeadTimeTable:
    """The lead times of some suppliers, and where each (supplier, stated days) has its place among them."""

    keys: tuple[LeadTimeKey, ...]
    place: dict[LeadTimeKey, int]
    times: LearnedLeadTimes
    names: dict[int, str]

    def places(self, keys: Iterable[LeadTimeKey]) -> IntArray:
        """Return the places of some keys."""
        return np.array([self.place[key] for key in keys], np.int64)

    def record(self, key: LeadTimeKey) -> LeadTimeRecord:
        """Return what is known of one lead time."""
        entry = np.array([self.place[key]])
        _, chances = self.times.chances(entry)
        supplier_id, stated = key
        return LeadTimeRecord(
            supplier_id=supplier_id, supplier=self.names.get(supplier_id or 0, ""), stated_days=stated,
            deliveries=int(self.times.deliveries()[entry[0]]), mean_days=float(self.times.mean_days()[entry[0]]),
            ninety_days=int(quantile_days(chances, 0.9)[0]), assumed=supplier_id is None,
        )  # fmt: skip


def lead_time_table(keys: Iterable[LeadTimeKey], shop: ShopConfig) -> LeadTimeTable:
    """Learn the lead times of (supplier, stated days) pairs from the parcels that came in."""
    distinct_keys = tuple(dict.fromkeys(keys))
    place = {key: number for number, key in enumerate(distinct_keys)}
    parcels = [
        (place[key], days) for key, days in _parcel_days({key[0] for key in distinct_keys} - {None}) if key in place
    ]
    times = learn_lead_times(
        [stated for _, stated in distinct_keys],
        [number for number, _ in parcels],
        [days for _, days in parcels],
        shop.lead_constants,
    )
    names = {int(key): str(name) for key, name in execute("SELECT id, name FROM suppliers").fetchall()}
    return LeadTimeTable(distinct_keys, place, times, names)


def supplier_lead_time(supplier_id: int, stated_days: int, shop: ShopConfig) -> LeadTimeRecord:
    """Return what is known of a supplier's lead time that is stated as so many days."""
    key = (supplier_id, stated_days)
    return lead_time_table([key], shop).record(key)


def _parcel_days(supplier_ids: set[int | None]) -> list[tuple[LeadTimeKey, float]]:
    condition = (
        f" AND o.supplier_id IN ({', '.join('?' * len(supplier_ids))})" if len(supplier_ids) <= _MAX_IN_FILTER else ""
    )
    if not supplier_ids:
        return []
    return [
        ((int(supplier), int(stated)), (int(received) - int(placed)) / MICROS_PER_DAY)
        for supplier, stated, placed, received in execute(
            _PARCELS.format(only=condition), *(supplier_ids if condition else ())
        ).fetchall()
    ]
