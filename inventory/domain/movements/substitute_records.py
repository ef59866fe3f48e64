"""Plain records of what fits: in place of a part that is out, and into a unit model."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from inventory.domain.common.described import About
from inventory.domain.common.records import BinRecord, PartRecord
from inventory.domain.proof.proof_records import PieceStatus


@dataclass(frozen=True)
class PartDifferenceRecord:
    """One way in which a part differs from what was asked for; ``caution``: it may matter electrically."""

    words: Annotated[str, About("How.", example="0.14 A instead of 0.12 A")]
    caution: Annotated[bool, "It may matter electrically."]


@dataclass(frozen=True)
class TakeableBin:
    """How many loose base units of a part can be taken from a bin."""

    bin: Annotated[BinRecord, "The bin."]
    quantity: Annotated[int, About("How many loose base units.", maximum=None)]


@dataclass(frozen=True)
class PastUse:
    """How often a part was used in place of another before, and how often a swap test saw a unit work with it."""

    jobs: Annotated[int, "How many jobs keep it in that place."]
    last: Annotated[datetime | None, "When it was taken for that last."]
    last_job_id: Annotated[int | None, "For which job."]
    last_job: str
    tests: Annotated[int, "How many swap tests put a piece of it in that place, with a result that says something."]
    worked: Annotated[int, "After how many of these the unit worked."]
    sentence: Annotated[str, "All that in words."]


@dataclass(frozen=True)
class SuggestedSubstitute:
    """A part that fits in place of another: why it is thought so, how it differs, and where there is some."""

    part: Annotated[PartRecord, "The part."]
    declared: Annotated[bool, "Somebody noted that it may stand in; else its attributes say so."]
    said: Annotated[str, "How it differs, as somebody put it."]
    differs: Annotated[
        tuple[PartDifferenceRecord, ...], "How it differs by its attributes, what may matter electrically first."
    ]
    on_shelf: Annotated[int, About("How many there are to be fitted, in base units.", maximum=None)]
    places: Annotated[tuple[TakeableBin, ...], "Where loose ones are."]
    pieces: Annotated[tuple[PieceStatus, ...], "Pieces that may be fitted, those to trust most first."]
    past: Annotated[PastUse, "What happened before."]

    @property
    def cautions(self) -> int:
        """How many differences may matter electrically."""
        return sum(differ.caution for differ in self.differs)

    @property
    def in_words(self) -> str:
        """How it differs, in a line."""
        return "; ".join(filter(None, (self.said.rstrip("."), *(differ.words for differ in self.differs))))


@dataclass(frozen=True)
class SubstituteSuggestions:
    """What fits in place of a part, what can be had first."""

    part: Annotated[PartRecord, "The part that was asked for."]
    options: Annotated[tuple[SuggestedSubstitute, ...], "What fits, what can be had first."]
    more: Annotated[int, "How many more fit."]


@dataclass(frozen=True)
class FittedSubstituteRecord:
    """A part that a job got in place of the one it had asked for. Base units; ``kept`` were not put back."""

    entry: Annotated[int, About("The entry of the ledger; undo takes this.", minimum=1, maximum=None)]
    part: Annotated[PartRecord, "What was asked for."]
    instead: Annotated[PartRecord, "What was taken."]
    quantity: Annotated[int, About("How many, in base units.", maximum=None)]
    kept: Annotated[int, About("How many of these were not put back.", maximum=None)]
    differed: Annotated[str, "How it differed, as was said then."]
    at: Annotated[datetime, "When."]
    person: Annotated[str, "Who took it."]
