"""Plain records of what fits: in place of a part that is out, and into a unit model."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from inventory.domain.common.records import BinRecord, PartRecord
from inventory.domain.proof.proof_records import PieceStatus


@dataclass(frozen=True)
class PartDifferenceRecord:
    """One way in which a part differs from what was asked for; ``caution``: it may matter electrically."""

    words: str
    caution: bool


@dataclass(frozen=True)
class TakeableBin:
    """How many loose base units of a part can be taken from a bin."""

    bin: BinRecord
    quantity: int


@dataclass(frozen=True)
class PastUse:
    """How often a part was used in place of another before, and how often a swap test saw a unit work with it."""

    jobs: int
    last: datetime | None
    last_job_id: int | None
    last_job: str
    tests: int
    worked: int
    sentence: str


@dataclass(frozen=True)
class SuggestedSubstitute:
    """A part that fits in place of another: why it is thought so, how it differs, and where there is some."""

    part: PartRecord
    declared: bool  # somebody said so; else its attributes do
    said: str  # how it differs, as somebody put it
    differs: tuple[PartDifferenceRecord, ...]
    on_shelf: int
    places: tuple[TakeableBin, ...]
    pieces: tuple[PieceStatus, ...]  # with labels of their own, that may be fitted; the most trustworthy first
    past: PastUse

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

    part: PartRecord
    options: tuple[SuggestedSubstitute, ...]
    more: int  # that fit too and are not shown


@dataclass(frozen=True)
class FittedSubstituteRecord:
    """A part that a job got in place of the one it had asked for. Base units; ``kept`` were not put back."""

    entry: int
    part: PartRecord  # asked for
    instead: PartRecord
    quantity: int
    kept: int
    differed: str
    at: datetime
    person: str


@dataclass(frozen=True)
class ModelPart:
    """A part that goes into a unit model: noted so, or used by its jobs; how many there are, and where."""

    part: PartRecord
    noted: bool
    jobs: int  # that used some
    last: datetime | None
    usual: int  # base units that such a job used, as a rule
    on_shelf: int
    bin: BinRecord | None  # where some can be taken
