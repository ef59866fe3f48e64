"""Plain records of money: what the stock is worth, what a job cost, what was bought in vain; in minor units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from inventory.domain.common.described import About
from inventory.domain.common.records import MAX_UNITS, JobRecord, LotRecord, PartRecord


@dataclass(frozen=True)
class PartValue:
    """What there was of one part, in base units, and what it had cost."""

    part: Annotated[PartRecord, "The part."]
    quantity: Annotated[int, About("How much there was, in base units.", maximum=MAX_UNITS)]
    value_minor: Annotated[int, About("What it had cost, as far as that is known, in minor units.", maximum=None)]
    lots: Annotated[int, "How many lots of it had something left."]
    lots_without_cost: Annotated[int, "Of how many of these nobody noted what they cost."]
    quantity_without_cost: Annotated[int, About("How much of the quantity is in those.", maximum=MAX_UNITS)]


@dataclass(frozen=True)
class ValueShare:
    """The share that one sort of bin, or one kind of part, has in the value of the stock."""

    word: Annotated[str, "The sort."]
    value_minor: Annotated[int, About("Its share, in minor units.", maximum=None)]
    number: Annotated[int, "Of how many bins, or parts."]


@dataclass(frozen=True)
class StockValue:
    """What the stock was worth at the end of a day: what its lots had cost, as far as that is known."""

    day: Annotated[date, "The day."]
    until: Annotated[datetime, "Up to when the ledger was read."]
    value_minor: Annotated[
        int, About("What all of it had cost, as far as that is known, in minor units.", maximum=None)
    ]
    lots: Annotated[int, "How many lots had something left."]
    lots_without_cost: Annotated[int, "Of how many of these nobody noted what they cost; they are not in the sum."]
    by_part: Annotated[tuple[PartValue, ...], "By part, the dearest first."]
    by_bin: Annotated[tuple[ValueShare, ...], "By sort of bin, as the bins are marked today."]
    by_kind: Annotated[tuple[ValueShare, ...], "By kind of part."]


@dataclass(frozen=True)
class MonthValue:
    """What the stock was worth at the end of a month (the last one: by now)."""

    day: Annotated[date, "The day."]
    value_minor: Annotated[
        int, About("What all of it had cost, as far as that is known, in minor units.", maximum=None)
    ]
    lots: Annotated[int, "How many lots had something left."]
    lots_without_cost: Annotated[int, "Of how many of these nobody noted what they cost."]


@dataclass(frozen=True)
class Fate:
    """What became of some units of a lot: a word, how many, what they cost, and what to say of them."""

    word: Annotated[str, About("In a word.", example="became a proved spare")]
    quantity: Annotated[int, About("How many, in base units.", maximum=MAX_UNITS)]
    cost_minor: Annotated[int | None, About("What they cost, in minor units.", maximum=None)]
    told: Annotated[str, "More of it: which piece, bin or job, or why it was scrapped."] = ""


@dataclass(frozen=True)
class WastedPurchase:
    """A lot of which its job used less than was bought for it, or that was bought on a guess.

    ``cost_minor`` is that of what was not used for its purpose; ``idle_minor`` of it, what nobody has any use of
    yet: neither another job nor as a spare to test with.
    """

    lot: Annotated[LotRecord, "The lot."]
    part: Annotated[PartRecord, "The part."]
    job: Annotated[JobRecord | None, "The job it was bought for; null: bought on a guess."]
    why: Annotated[str, "Why it counts, in a sentence."]
    supplier: Annotated[str, "Who it was bought from."]
    quantity: Annotated[int, About("How many were not used for their purpose, in base units.", maximum=MAX_UNITS)]
    cost_minor: Annotated[int | None, About("What those cost; null: not known, in minor units.", maximum=None)]
    idle_minor: Annotated[
        int | None,
        About("What of that is of no use to anybody so far; null: not known, in minor units.", maximum=None),
    ]
    fates: Annotated[tuple[Fate, ...], "What became of them."]


@dataclass(frozen=True)
class JobCost:
    """What the parts of one job cost: of lots, and by shares of bottles and reels; ``costs_unknown`` are left out."""

    job: Annotated[JobRecord, "The job."]
    lots_minor: Annotated[
        int,
        About("Of lots, to the last unit: the shares of a lot add up to what it cost, in minor units.", maximum=None),
    ]
    shared_minor: Annotated[int, About("Its shares of bottles and reels, in minor units.", maximum=None)]
    costs_unknown: Annotated[int, "How many lots and shares are left out, as nobody noted what they cost."]

    @property
    def cost_minor(self) -> Annotated[int, About(maximum=None)]:
        """Both together, in minor units."""
        return self.lots_minor + self.shared_minor
