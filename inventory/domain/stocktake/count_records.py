"""Plain records of counting: walks, the bins of a walk, what is to be counted in one, differences to be reviewed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from inventory.domain.common.described import About, chance
from inventory.domain.common.records import BinRecord, LotRecord, PartRecord, PieceRecord
from inventory.domain.common.validation import MAX_QUANTITY

WALK_BIN_STATES = ("to count", "recount", "counted", "booked", "left out")


@dataclass(frozen=True)
class CountWalkRecord:
    """A count walk; ``to_count`` counts bins still to be counted once more, ``differ`` those to be reviewed."""

    id: Annotated[int, "Its id."]
    started: Annotated[datetime, "When it began."]
    person: Annotated[str, "Who began it."]
    blind: Annotated[bool, "What the book says is not shown."]
    ended: Annotated[datetime | None, "When it ended; null: it is under way."]
    note: Annotated[str, "What to know about it."]
    bins: Annotated[int, "How many bins it has."]
    to_count: Annotated[int, "How many are still to be counted."]
    differ: Annotated[int, "How many wait for their differences to be reviewed."]

    @property
    def done(self) -> int:
        """How many bins need no more counting."""
        return self.bins - self.to_count


@dataclass(frozen=True)
class WalkBinRecord:
    """A bin of a walk. ``state``: to count, recount, counted, booked, left out; ``person`` is or was at it."""

    id: Annotated[int, "Its id in the walk."]
    bin: Annotated[BinRecord, "The bin."]
    state: Annotated[str, About("How far it is.", choices=WALK_BIN_STATES)]
    person: Annotated[str, "Who is or was at it."]
    person_id: Annotated[int | None, "The same, by id."]
    busy: Annotated[bool, "That person is at it now."]
    rounds: Annotated[int, "How often it was counted."]


@dataclass(frozen=True)
class LotToCount:
    """Loose units of a lot to be counted; ``booked`` is None on a blind walk."""

    part: Annotated[PartRecord, "The part."]
    lot: Annotated[LotRecord, "The lot."]
    booked: Annotated[int | None, "What the book says; null on a blind walk."]


@dataclass(frozen=True)
class BinToCount:
    """What to count in a bin. ``line`` goes back with the answer: it says up to where the book was read."""

    walk: Annotated[CountWalkRecord, "The walk."]
    bin: Annotated[WalkBinRecord, "The bin."]
    lots: Annotated[tuple[LotToCount, ...], "The lots, loose."]
    pieces: Annotated[tuple[PieceRecord, ...], "The pieces that should be there."]
    line: Annotated[int, About("The end of the ledger as it was read: send it back with the tally.", maximum=None)]
    why_again: Annotated[str, "Why it is counted again."]
    gone: Annotated[tuple[LotToCount, ...], "Used up by the book; tally those of them that are here all the same."]


@dataclass(frozen=True)
class CountDifference:
    """One lot, or one missing piece, of which the last count says something else than the book did."""

    walk_bin_id: int
    bin: BinRecord
    part: Annotated[PartRecord, "The part."]
    lot: Annotated[LotRecord, "The lot."]
    piece: Annotated[PieceRecord | None, "The piece that is missing."]
    booked: Annotated[int, "What the book said when the count began."]
    counted: Annotated[int, "What was counted."]
    rounds: Annotated[int, "How often it was counted."]
    person: Annotated[str, "Who counted it last."]
    at: Annotated[datetime, "When."]
    value_minor: Annotated[int | None, About("What the difference cost, in minor units.", minimum=None, maximum=None)]

    @property
    def difference(self) -> Annotated[int, About(minimum=-MAX_QUANTITY)]:
        """How many more, below zero fewer."""
        return self.counted - self.booked


@dataclass(frozen=True)
class BinDifferences:
    """The differences of one bin, and why they cannot be booked as they are (empty: they can)."""

    bin: Annotated[BinRecord, "The bin."]
    differences: Annotated[tuple[CountDifference, ...], "What differs."]
    stale: Annotated[str, "Why they cannot be booked as they are; empty: they can."]


@dataclass(frozen=True)
class CountResult:
    """What came of a count: the bin's state, a sentence, and the entry it was booked under (None: not booked)."""

    bin: Annotated[WalkBinRecord, "The bin, and how far it is now."]
    sentence: Annotated[str, "What was found, for people."]
    entry: Annotated[int | None, About("Its entry in the ledger, when it is booked already.", maximum=None)] = None


@dataclass(frozen=True)
class CountSuggestion:
    """A bin that should be counted soon: how likely its book is wrong, and what is at stake in minor units."""

    bin: Annotated[BinRecord, "The bin."]
    p_wrong: Annotated[float, chance("The chance that its book is wrong.")]
    at_stake_minor: Annotated[int, About("What is at stake, in minor units.", maximum=None)]
    value_minor: Annotated[int, About("What is in it cost, in minor units, as far as it is known.", maximum=None)]
    counted: Annotated[datetime | None, "When it was last counted."]
    words: Annotated[str, "Why, in words."]
    walk_id: Annotated[int | None, "The open walk it is in."]
