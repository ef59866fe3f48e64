"""Plain records of provenance: where a lot came from, where it went, what a job was made of, how a recall stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from inventory.domain.common.records import BinRecord, HoldRecord, JobRecord, LotRecord, PartRecord, PieceRecord
from inventory.domain.proof.proof_records import LoanRecord, PieceStatus, ProofRecord


@dataclass(frozen=True)
class LotOrigin:
    """Where a lot came from, in words, with what those words name."""

    words: str  # short: "Northgate Components", "donor unit of job 1042"
    told: str  # a sentence with price and reason, as far as they are known
    supplier_id: int | None = None
    order_id: int | None = None
    order_number: str = ""
    job_id: int | None = None


@dataclass(frozen=True)
class ReachedJob:
    """A job that something of a lot reached: base units fitted in it, and pieces that it only borrowed or ran."""

    job: JobRecord
    quantity: int
    borrowed: tuple[PieceRecord, ...] = ()

    @property
    def open(self) -> bool:
        """Tell whether the unit is still at the bench."""
        return self.job.status != "closed"


@dataclass(frozen=True)
class RemainingInBin:
    """What is left of a lot in one bin: loose base units, and pieces."""

    bin: BinRecord
    quantity: int
    pieces: int


@dataclass(frozen=True)
class LotTrace:
    """A lot both ways: its origin, every job it reached, every piece made from it, what is left and where.

    ``sent_back`` (to its supplier), ``scrapped`` and ``otherwise`` (used for the bench itself, or missing at a count)
    are in base units.
    """

    lot: LotRecord
    part: PartRecord
    origin: LotOrigin
    jobs: tuple[ReachedJob, ...]  # those still at the bench first, newest first
    pieces: tuple[PieceStatus, ...]
    places: tuple[RemainingInBin, ...]
    sent_back: int
    scrapped: int
    otherwise: int

    @property
    def left(self) -> int:
        """How much is left, in base units."""
        return sum(place.quantity + place.pieces for place in self.places)


@dataclass(frozen=True)
class UsedLot:
    """What a job has of one lot, and what that cost; ``pieces`` are those of it with a label of their own."""

    part: PartRecord
    lot: LotRecord
    origin: LotOrigin
    quantity: int
    cost_minor: int | None
    pieces: tuple[PieceRecord, ...]


@dataclass(frozen=True)
class JobTrace:
    """A job back to where everything in it came from."""

    job: JobRecord
    used: tuple[UsedLot, ...]
    borrowed: tuple[LoanRecord, ...]
    proved: tuple[ProofRecord, ...]
    proved_names: tuple[str, ...]  # what the pieces of ``proved`` are called

    @property
    def cost_minor(self) -> int:
        """What all of it cost, as far as it is known, in minor units."""
        return sum(one.cost_minor or 0 for one in self.used)


@dataclass(frozen=True)
class RecallLine:
    """A job that a lot on hold reached, and who saw to it (None: nobody yet)."""

    job: JobRecord
    quantity: int
    borrowed: tuple[PieceRecord, ...]
    seen_to: datetime | None
    person: str
    note: str


@dataclass(frozen=True)
class Recall:
    """The list of jobs to be seen to because of a lot; it is worked through while ``hold`` lasts."""

    lot: LotRecord
    part: PartRecord
    hold: HoldRecord
    lines: tuple[RecallLine, ...]
    left: int

    @property
    def to_do(self) -> int:
        """How many jobs nobody has seen to."""
        return sum(line.seen_to is None for line in self.lines)


@dataclass(frozen=True)
class SimilarLot:
    """Another lot that may have the same fault, and why it is thought so."""

    lot: LotRecord
    part: PartRecord
    why: str
    left: int
    jobs: int


@dataclass(frozen=True)
class AttachmentRecord:
    """A certificate or photo of a lot."""

    id: int
    lot_id: int
    kind: str
    name: str
    media: str
    size: int
    digest: str
    at: datetime
    person: str
