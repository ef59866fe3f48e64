"""Makes the things a test is not about: parts, bins, jobs, people with sensible values."""

from __future__ import annotations

import itertools
from typing import Any

from inventory.domain.buying import orders
from inventory.domain.buying.order_records import NewOrderLine, OrderRecord
from inventory.domain.catalogue import bins, parts
from inventory.domain.common.records import ActionResult, BinRecord, JobRecord, PartRecord, PersonRecord
from inventory.domain.jobs import jobs, people
from inventory.domain.movements import receive

_numbers = itertools.count(1)
PASSPHRASE = "nine burnt headers"


def a_person(role: str = "tech", name: str | None = None) -> PersonRecord:
    """Add somebody of *role* who may sign in with PASSPHRASE."""
    return people.add_person(name or f"{role}{next(_numbers)}", role, PASSPHRASE)


def a_part(name: str = "4-way header", kind: str = "connector", **more: Any) -> PartRecord:
    """Add a part; its number is made up unless given."""
    return parts.add_part(more.pop("number", f"P-{next(_numbers):04}"), name, kind, **more)


def a_short_part(name: str = "Lamp holder", level: int = 4) -> PartRecord:
    """Add a part of which there is less than the owner wants kept: an alert."""
    return a_part(name, level=level)


def a_bin(part: PartRecord | None = None, **more: Any) -> BinRecord:
    """Add a bin; its name is made up unless given."""
    return bins.add_bin(more.pop("name", f"A-{next(_numbers):03}"), part.id if part else None, **more)


def a_job(**more: Any) -> JobRecord:
    """Open a job."""
    return jobs.add_job(**{"unit_model": "Corvid 7 moving head", "symptom": "no pan", **more})


def a_stocked_part(quantity: int = 5, **more: Any) -> tuple[PartRecord, BinRecord, ActionResult]:
    """Add a part with *quantity* of it in a bin of its own; *more* goes to ``receive``."""
    part = a_part()
    bin_ = a_bin(part)
    return part, bin_, receive.receive(part.id, quantity, bin_.id, **more)


def a_placed_order(supplier_id: int, lines: list[NewOrderLine], **more: Any) -> OrderRecord:
    """Place an order; *more* goes to ``draft_order``."""
    return orders.place_order(orders.draft_order(supplier_id, lines, **more).id)
