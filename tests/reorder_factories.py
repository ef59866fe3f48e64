"""Makes parts with a history of use, on one made-up day, for tests of what to order."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import Advice, SupplierRecord
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import pull, receive
from inventory.domain.reorder import reorder_list
from tests.factories import a_bin, a_job, a_part

TODAY = datetime(2026, 6, 1, 9, tzinfo=UTC)
MONTHLY = tuple((30.0 * n + 1, 1 + n % 2) for n in range(12))  # a year of a job a month: days ago, and how many


def ago(days: float) -> Any:
    """Let the block happen so many days before TODAY."""
    return clock.set_to(TODAY - timedelta(days=days))


def a_supplier(name: str = "Northgate Components", lead_days: int = 4, shipping_minor: int = 600) -> SupplierRecord:
    """Add a supplier."""
    return suppliers.add_supplier(name, lead_days=lead_days, shipping_minor=shipping_minor)


def kept(uses: tuple[tuple[float, int], ...] = (), on_shelf: int = 0, since: float = 365, **more: Any) -> PartRecord:
    """Add a part kept for so many days, with jobs so many days ago that took so many, and so many left."""
    with ago(since):
        part = a_part(**more)
        bin_ = a_bin(part)
        taken = sum(quantity for _, quantity in uses)
        if taken + on_shelf:
            receive.receive(part.id, taken + on_shelf, bin_.id)
    for days, quantity in uses:
        with ago(days):
            pull.pull(quantity, bin_id=bin_.id, job_id=a_job().id)
    return part


def advice(part: PartRecord) -> Advice:
    """Return what is advised for a part."""
    return reorder_list.advice_of([part.id])[part.id]
