"""Plain records about checks of lots that come in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from inventory.domain.common.records import LotRecord, PartRecord
from inventory.domain.proof.proof_records import ReadingRecord, failed_of


@dataclass(frozen=True)
class PassRecord:
    """How a poor delivery fares: with this share bad it passes with this chance."""

    share_bad: float
    chance: float


@dataclass(frozen=True)
class PlanExample:
    """What a plan asks of a delivery of so many, and how a poor one would fare."""

    pieces: int
    tests: int
    accept: int
    passes: tuple[PassRecord, ...]


@dataclass(frozen=True)
class PlanSaid:
    """A plan in words: what it asks, and what that means for deliveries of some sizes."""

    words: str
    examples: tuple[PlanExample, ...]


@dataclass(frozen=True)
class PlanRecord:
    """How much of each delivery is tested: so many (``test``), or by the question (``sure``, ``most_bad``)."""

    part_id: int | None
    supplier_id: int | None
    test: int | None
    sure: float | None
    most_bad: float | None
    accept: int
    hold: bool
    version: int
    of: str  # the part's or the supplier's name
    said: PlanSaid

    @property
    def words(self) -> str:
        """Return the plan in words."""
        return self.said.words

    @property
    def examples(self) -> tuple[PlanExample, ...]:
        """Return what it asks of deliveries of some sizes."""
        return self.said.examples


@dataclass(frozen=True)
class ResultRecord:
    """One that was tested for a check."""

    id: int
    number: int
    at: datetime
    person: str
    good: bool
    fate: str  # back, scrapped, labelled
    procedure_id: int | None
    procedure: str
    piece_id: int | None
    piece_name: str
    proof_id: int | None
    entry: int | None
    note: str
    readings: tuple[ReadingRecord, ...]
    struck: datetime | None
    struck_by: str
    struck_reason: str

    @property
    def failed_reading(self) -> str:
        """Which readings failed, in words; empty when none did."""
        return failed_of(self.readings)


@dataclass(frozen=True)
class RestRecord:
    """What a check says of those of the lot that were not tested."""

    pieces: int
    mean_bad: float
    share_bad: float
    low: int  # nine times in ten, so many are bad ...
    high: int  # ... to so many
    p_all_good: float


@dataclass(frozen=True)
class IncomingRecord:
    """A check of a lot: what it asks, how far it is, and what it says."""

    id: int
    lot: LotRecord
    part: PartRecord
    supplier: str
    opened: datetime
    opened_by: str
    pieces: int
    tests: int  # to be tested; fewer than planned when so many are no longer here
    accept: int
    sure: float | None
    most_bad: float | None
    every: bool
    holds: bool  # nobody can take from the lot until it is closed
    closed: datetime | None
    closed_by: str
    outcome: str
    overridden: bool
    reason: str
    tested: int
    bad: int
    left: int  # of the lot, here and not tested
    verdict: str  # accept, reject; empty: not certain yet
    asks: str
    says: str
    rest: RestRecord
    results: tuple[ResultRecord, ...]

    @property
    def progress(self) -> str:
        """How far it is: "3 of 5"."""
        return f"{self.tested} of {max(self.tests, self.tested)}"


@dataclass(frozen=True)
class Quarter:
    """What came from a supplier in one quarter of a year, as far as it was seen: the rate with its interval."""

    start: date
    name: str  # "Q3 2026"
    seen: int
    dead: int
    rate: float
    low: float
    high: float


@dataclass(frozen=True)
class DeadOnArrival:
    """How many of a supplier's pieces were dead when they came: in all, and by quarter, the oldest first."""

    seen: int
    dead: int
    tested: int  # of those seen, at checks and by proofs
    rate: float
    low: float
    high: float
    level: float
    enough: bool  # to say anything
    words: str
    quarters: tuple[Quarter, ...]
