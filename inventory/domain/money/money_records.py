"""Plain records of money: what the stock is worth, what a job cost, what was bought in vain; in minor units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from inventory.domain.common.records import JobRecord, LotRecord, PartRecord


@dataclass(frozen=True)
class PartValue:
    """What there was of one part, in base units, and what it had cost."""

    part: PartRecord
    quantity: int
    value_minor: int
    lots: int
    lots_without_cost: int
    quantity_without_cost: int  # of ``quantity``, that whose cost nobody noted


@dataclass(frozen=True)
class ValueShare:
    """The share that one sort of bin, or one kind of part, has in the value of the stock."""

    word: str
    value_minor: int
    number: int  # of bins, or of parts


@dataclass(frozen=True)
class StockValue:
    """What the stock was worth at the end of a day: what its lots had cost, as far as that is known."""

    day: date
    until: datetime
    value_minor: int
    lots: int
    lots_without_cost: int
    by_part: tuple[PartValue, ...]  # the dearest first
    by_bin: tuple[ValueShare, ...]
    by_kind: tuple[ValueShare, ...]


@dataclass(frozen=True)
class MonthValue:
    """What the stock was worth at the end of a month (the last one: by now)."""

    day: date
    value_minor: int
    lots: int
    lots_without_cost: int


@dataclass(frozen=True)
class Fate:
    """What became of some units of a lot: a word, how many, what they cost, and what to say of them."""

    word: str
    quantity: int
    cost_minor: int | None
    told: str = ""


@dataclass(frozen=True)
class InVain:
    """A lot of which its job used less than was bought for it, or that was bought on a guess.

    ``cost_minor`` is that of what was not used for its purpose; ``idle_minor`` of it, what nobody has any use of
    yet: neither another job nor as a spare to test with.
    """

    lot: LotRecord
    part: PartRecord
    job: JobRecord | None  # None: bought on a guess, for no job
    why: str
    supplier: str
    quantity: int  # base units not used for their purpose
    cost_minor: int | None
    idle_minor: int | None
    fates: tuple[Fate, ...]


@dataclass(frozen=True)
class JobCost:
    """What the parts of one job cost: of lots, and by shares of bottles and reels; ``costs_unknown`` are left out."""

    job: JobRecord
    lots_minor: int
    shared_minor: int
    costs_unknown: int

    @property
    def cost_minor(self) -> int:
        """What all of it cost, as far as it is known."""
        return self.lots_minor + self.shared_minor
