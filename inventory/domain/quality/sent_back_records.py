"""Plain records of what went back to a supplier."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from inventory.domain.common.described import About, Sent
from inventory.domain.common.records import LotRecord, PartRecord
from inventory.domain.common.validation import MAX_QUANTITY

DEAD_ON_ARRIVAL = "dead on arrival"  # the one cause that counts among a supplier's dead ones
RETURN_CAUSES = (DEAD_ON_ARRIVAL, "failed in use", "not as ordered", "not needed", "lot rejected")
CAUSE_NOT_STATED = "not stated"  # of what was sent back before causes were kept


@dataclass(frozen=True)
class SentBackRecord:
    """Some of a lot that went back to its supplier; money in minor units, quantities in base units."""

    id: Annotated[int, "Its id."]
    entry: Annotated[int, About("The entry of the ledger by which it left.", maximum=None)]
    lot: Annotated[LotRecord, "The lot."]
    part: Annotated[PartRecord, "The part it is of."]
    supplier_id: Annotated[int, "To whom it went."]
    supplier: Annotated[str, "What that supplier is called."]
    quantity: Annotated[int, About("How many base units.", maximum=None)]
    cause: Annotated[str, About("Why.", choices=(*RETURN_CAUSES, CAUSE_NOT_STATED))]
    at: Annotated[datetime, "When."]
    person: Annotated[str, "Who sent it."]
    expected_minor: Annotated[
        int | None,
        About("The money asked for it, in minor units.", maximum=None),
        Sent("The money asked for it, in minor units; null: nobody knows.", add=False, maximum=MAX_QUANTITY),
    ]
    reference: Annotated[str, "What the supplier calls it.", Sent(add=False, maximum=80)]
    note: Annotated[str, "What else to know.", Sent(add=False, maximum=1000)]
    settled: Annotated[datetime | None, "When it answered."]
    settled_by: Annotated[str, "Who noted that."]
    got_minor: Annotated[int | None, About("The money that came, in minor units.", maximum=None)]
    outcome: Annotated[str, "What the supplier said."]
    undone: Annotated[bool, "The entry was undone: it never left."]
    version: Annotated[int, About("Counts its edits.", maximum=None)]

    @property
    def waits(self) -> bool:
        """The supplier has not answered yet."""
        return self.settled is None and not self.undone


@dataclass(frozen=True)
class MoneyBack:
    """What went back to suppliers by now: how much is expected, how much came."""

    waiting: Annotated[int, About("How many they have not answered.", maximum=None)]
    expected_minor: Annotated[int, About("The money asked for those, in minor units.", maximum=None)]
    without_sum: Annotated[int, About("Of those, how many nobody named a sum for.", maximum=None)]
    settled: Annotated[int, About("How many they have answered.", maximum=None)]
    got_minor: Annotated[int, About("The money that came, in minor units.", maximum=None)]
