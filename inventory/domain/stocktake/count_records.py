"""Plain records of counting: walks, the bins of a walk, what is to be counted in one, differences to be reviewed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from inventory.domain.common.records import BinRecord, LotRecord, PartRecord, PieceRecord


@dataclass(frozen=True)
class WalkRecord:
    """A count walk; ``to_count`` counts bins still to be counted once more, ``differ`` those to be reviewed."""

    id: int
    started: datetime
    person: str
    blind: bool
    ended: datetime | None
    note: str
    bins: int
    to_count: int
    differ: int

    @property
    def done(self) -> int:
        """How many bins need no more counting."""
        return self.bins - self.to_count


@dataclass(frozen=True)
class WalkBinRecord:
    """A bin of a walk. ``state``: to count, recount, counted, booked, left out; ``person`` is or was at it."""

    id: int
    bin: BinRecord
    state: str
    person: str
    person_id: int | None
    busy: bool  # that person is at it now
    rounds: int


@dataclass(frozen=True)
class LotToCount:
    """Loose units of a lot to be counted; ``booked`` is None on a blind walk."""

    part: PartRecord
    lot: LotRecord
    booked: int | None


@dataclass(frozen=True)
class BinToCount:
    """What to count in a bin. ``line`` goes back with the answer: it says up to where the book was read."""

    walk: WalkRecord
    bin: WalkBinRecord
    lots: tuple[LotToCount, ...]
    pieces: tuple[PieceRecord, ...]  # expected in the bin, those that are out left out
    line: int
    why_again: str  # why it is counted again; empty the first time
    gone: tuple[LotToCount, ...]  # lots that the book says are used up, and that may be found here all the same


@dataclass(frozen=True)
class Difference:
    """One lot, or one missing piece, of which the last count says something else than the book did."""

    walk_bin_id: int
    bin: BinRecord
    part: PartRecord
    lot: LotRecord
    piece: PieceRecord | None
    booked: int
    counted: int
    rounds: int
    person: str
    at: datetime
    value_minor: int | None

    @property
    def difference(self) -> int:
        """How many more (negative: fewer) were counted than booked, in base units."""
        return self.counted - self.booked


@dataclass(frozen=True)
class BinDiffers:
    """The differences of one bin, and why they cannot be booked as they are (empty: they can)."""

    bin: BinRecord
    differences: tuple[Difference, ...]
    stale: str


@dataclass(frozen=True)
class Counted:
    """What came of a count: the bin's state, a sentence, and the entry it was booked under (None: not booked)."""

    bin: WalkBinRecord
    sentence: str
    entry: int | None = None


@dataclass(frozen=True)
class CountSoon:
    """A bin that should be counted soon: how likely its book is wrong, and what is at stake in minor units."""

    bin: BinRecord
    p_wrong: float
    at_stake_minor: int
    value_minor: int
    counted: datetime | None
    words: str
    walk_id: int | None  # the open walk it is in
