"""Plain records of what went back to a supplier."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from inventory.domain.common.records import LotRecord, PartRecord


@dataclass(frozen=True)
class SentBackRecord:
    """Some of a lot that went back to its supplier; money in minor units, quantities in base units."""

    id: int
    entry: int  # of the ledger
    lot: LotRecord
    part: PartRecord
    supplier_id: int
    supplier: str
    quantity: int
    cause: str
    at: datetime
    person: str
    expected_minor: int | None  # None: nobody said how much
    reference: str  # what the supplier calls it
    note: str
    settled: datetime | None
    settled_by: str
    got_minor: int | None
    outcome: str
    undone: bool
    version: int

    @property
    def waits(self) -> bool:
        """Tell whether the supplier has not answered yet."""
        return self.settled is None and not self.undone


@dataclass(frozen=True)
class MoneyBack:
    """What went back to suppliers by now: how much is expected, how much came."""

    waiting: int  # not answered yet
    expected_minor: int  # for those, as far as it was said
    without_sum: int  # of those, that nobody named a sum for
    settled: int
    got_minor: int  # for what was answered
