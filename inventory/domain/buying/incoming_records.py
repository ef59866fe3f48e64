"""Plain records about checks of lots that come in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from inventory.domain.common.described import About, Sent, chance
from inventory.domain.common.records import LotRecord, PartRecord
from inventory.domain.proof.proof_records import ReadingRecord, describe_failed_readings

MAX_TESTS = 10_000
FATES = ("back", "scrapped", "labelled")
CHECK_OUTCOMES = ("accepted", "rejected")


@dataclass(frozen=True)
class PassChance:
    """How a poor delivery fares: with this share bad it passes with this chance."""

    share_bad: Annotated[float, chance("If this share were bad ...")]
    chance: Annotated[float, chance("... it would pass with this chance.")]


@dataclass(frozen=True)
class PlanExample:
    """What a plan asks of a delivery of so many, and how a poor one would fare."""

    pieces: Annotated[int, About("So many in the lot.", maximum=None)]
    tests: Annotated[int, About("Test so many.", maximum=None)]
    accept: Annotated[int, About("So many of them may be bad.", maximum=None)]
    passes: Annotated[tuple[PassChance, ...], "How poor lots would fare."]


@dataclass(frozen=True)
class PlanText:
    """A plan in words: what it asks, and what that means for deliveries of some sizes."""

    words: str
    examples: tuple[PlanExample, ...]


@dataclass(frozen=True)
class IncomingPlanRecord:
    """How much of each delivery is tested: so many (``test``), or by the question (``sure``, ``most_bad``)."""

    part_id: Annotated[int | None, "The part it is of."]
    supplier_id: Annotated[int | None, "Or the supplier."]
    of: Annotated[str, "The name of either."]
    test: Annotated[
        int | None,
        "Test so many of each; 0: none, whatever the supplier's plan says.",
        Sent("Test so many of each.", maximum=MAX_TESTS, example=5),
    ]
    sure: Annotated[float | None, chance("How sure to be (0.001 to 0.999) ..."), Sent()]
    most_bad: Annotated[float | None, chance("... that at most this share is bad (0.001 to 0.999)."), Sent()]
    accept: Annotated[int, "How many of those tested may be bad.", Sent(maximum=MAX_TESTS, default=0)]
    hold: Annotated[bool, "Nobody takes from the lot until it is checked.", Sent(default=True)]
    version: int
    said: PlanText

    @property
    def words(self) -> str:
        """The same in words."""
        return self.said.words

    @property
    def examples(self) -> tuple[PlanExample, ...]:
        """What it asks of lots of some sizes."""
        return self.said.examples


@dataclass(frozen=True)
class IncomingResultRecord:
    """One that was tested for a check."""

    id: Annotated[int, "Its id."]
    number: Annotated[int, "Its place in the sample."]
    at: Annotated[datetime, "When."]
    person: Annotated[str, "Who tested it."]
    good: Annotated[bool, "It is good."]
    fate: Annotated[str, About("What became of it.", choices=FATES)]
    procedure_id: Annotated[int | None, "By which procedure; null: as the tester saw it."]
    procedure: Annotated[str, "Its name."]
    piece_id: Annotated[int | None, "The piece, if it has a label of its own."]
    piece_name: Annotated[str, "What it is called."]
    proof_id: Annotated[int | None, "The proof that the piece keeps."]
    entry: Annotated[int | None, About("The entry of the ledger, when it was scrapped or labelled.", maximum=None)]
    note: Annotated[str, "What else to know."]
    readings: Annotated[tuple[ReadingRecord, ...], "What was read."]
    struck: Annotated[datetime | None, "When it was taken back; null: it counts."]
    struck_by: Annotated[str, "By whom."]
    struck_reason: Annotated[str, "Why."]

    @property
    def failed_reading(self) -> str:
        """Which readings failed, in words; empty when none did."""
        return describe_failed_readings(self.readings)


@dataclass(frozen=True)
class UntestedRestRecord:
    """What a check says of those of the lot that were not tested."""

    pieces: Annotated[int, About("How many they are.", maximum=None)]
    mean_bad: Annotated[float, "So many are expected bad."]
    share_bad: Annotated[float, chance("The share expected bad: the chance that the next one is.")]
    low: Annotated[int, About("Nine times in ten at least so many are bad ...", maximum=None)]
    high: Annotated[int, About("... and at most so many.", maximum=None)]
    p_all_good: Annotated[float, chance("The chance that all of them are good.")]


@dataclass(frozen=True)
class IncomingCheckRecord:
    """A check of a lot: what it asks, how far it is, and what it says."""

    id: Annotated[int, "Its id."]
    lot: Annotated[LotRecord, "The lot."]
    part: Annotated[PartRecord, "The part."]
    supplier: Annotated[str, "Who sent it."]
    opened: Annotated[datetime, "When it began."]
    opened_by: Annotated[str, "Who received the lot, or began the check."]
    pieces: Annotated[int, About("How many of the lot were here.", maximum=None)]
    tests: Annotated[
        int, About("How many to test; fewer than planned when so many are no longer here.", maximum=None)
    ]
    accept: Annotated[int, About("How many of them may be bad.", maximum=None)]
    sure: Annotated[float | None, chance("How sure to be (0.001 to 0.999) ...")]
    most_bad: Annotated[float | None, chance("... that at most this share is bad (0.001 to 0.999).")]
    every: Annotated[bool, "All that is left is sorted, after the lot was rejected."]
    holds: Annotated[bool, "Nobody can take from the lot until it is closed."]
    closed: Annotated[datetime | None, "When it was closed; null: it is under way."]
    closed_by: Annotated[str, "By whom."]
    outcome: Annotated[str, About("How it ended.", choices=("", *CHECK_OUTCOMES, "called off"))]
    overridden: Annotated[bool, "The owner decided otherwise than the tests, or before they said anything."]
    reason: Annotated[str, "Why."]
    tested: Annotated[int, About("How many were tested.", maximum=None)]
    bad: Annotated[int, About("How many of those were bad.", maximum=None)]
    left: Annotated[int, About("How many are here and not tested.", maximum=None)]
    verdict: Annotated[
        str, About("What the tests say; empty: it is not certain yet.", choices=("", "accept", "reject"))
    ]
    asks: Annotated[str, "What it asks, in words."]
    says: Annotated[str, "What it says, in words."]
    rest: Annotated[UntestedRestRecord, "What it says of the rest."]
    results: Annotated[tuple[IncomingResultRecord, ...], "What was tested."]

    @property
    def progress(self) -> str:
        """How far it is: "3 of 5"."""
        return f"{self.tested} of {max(self.tests, self.tested)}"


@dataclass(frozen=True)
class DeadOnArrivalQuarter:
    """What came from a supplier in one quarter of a year, as far as it was seen: the rate with its interval."""

    start: Annotated[date, "Its first day."]
    name: Annotated[str, "What people call it."]
    seen: Annotated[int, About("How many were seen to work or to be dead.", maximum=None)]
    dead: Annotated[int, About("How many of them were dead.", maximum=None)]
    rate: Annotated[float, chance("The share.")]
    low: Annotated[float, chance("The lower end of its 90 % interval.")]
    high: Annotated[float, chance("The upper end.")]


@dataclass(frozen=True)
class DeadOnArrivalRate:
    """How many of a supplier's pieces were dead when they came: in all, and by quarter, the oldest first."""

    seen: Annotated[int, About("How many were seen to work or to be dead.", maximum=None)]
    dead: Annotated[int, About("How many of them were dead.", maximum=None)]
    tested: Annotated[int, About("How many of them were tested.", maximum=None)]
    rate: Annotated[float, chance("The share.")]
    low: Annotated[float, chance("The lower end of its interval.")]
    high: Annotated[float, chance("The upper end.")]
    level: Annotated[float, chance("The chance that the interval holds the rate.")]
    enough: Annotated[bool, "Enough were seen to say anything."]
    words: Annotated[str, "The same in words."]
    quarters: Annotated[tuple[DeadOnArrivalQuarter, ...], "By quarter, the oldest first."]
