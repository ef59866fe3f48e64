"""Plain records about proof: pieces with their standing, procedures, proofs, loans."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from inventory.domain.common.described import About, Sent, chance
from inventory.domain.common.records import LotRecord, PartRecord, PieceRecord
from inventory.domain.common.validation import PART_KINDS
from shared.codes import name_or_code

STANDINGS_BEST_FIRST = ("proved", "lapsed", "unproved", "doubtful", "failed")
DEFAULT_SENSITIVITY, DEFAULT_SPECIFICITY = 0.90, 0.98  # assumed, where the procedure says nothing else


@dataclass(frozen=True)
class CautionRecord:
    """What to mind before touching something; ``line`` is short enough for a label."""

    key: Annotated[str, "The hazard; empty: the part's own caution."]
    title: Annotated[str, "What people call it."]
    line: Annotated[str, "The line that fits a label."]
    text: Annotated[str, "The caution in full."]


@dataclass(frozen=True)
class PieceLocation:
    """Where a piece is, in words and for programs."""

    state: Annotated[str, "in bin, out, fitted, scrapped or gone."]
    words: Annotated[str, "The same for people."]
    bin_id: Annotated[int | None, "Where it is, or goes back to."] = None
    bin_name: Annotated[str, "What that bin is called."] = ""
    job_id: Annotated[int | None, "The job it is with."] = None
    job_number: Annotated[str, "That job's number."] = ""
    loan_id: Annotated[int | None, "The loan it is out on."] = None
    since: Annotated[datetime | None, "Since when."] = None
    due: Annotated[datetime | None, "When it is due back."] = None
    overdue: Annotated[bool, "It should be back by now."] = False


@dataclass(frozen=True)
class StandingStep:
    """One line of how a piece's chance came about."""

    at: Annotated[datetime, "When."]
    p_good: Annotated[float, chance("The chance that it was good, after it.")]
    words: Annotated[str, "What happened."]


@dataclass(frozen=True)
class StandingRecord:
    """How far a piece can be trusted as a test instrument, at the moment ``at``."""

    piece_id: Annotated[int, "The piece."]
    at: Annotated[datetime, "At this moment."]
    word: Annotated[str, About("Its standing.", choices=STANDINGS_BEST_FIRST)]
    p_good: Annotated[float, chance("The chance that it is good.")]
    why: Annotated[str, "Why, in a sentence."]
    worth: Annotated[str, "What a unit that still fails with it would say of the suspect."]
    valid_until: Annotated[date | None, "Last day on which time alone leaves it proved; null: it is not."]
    proof_until: Annotated[date | None, "Last day on which its last proof is in date."]
    next_word: Annotated[str, "What time alone makes of it next."]
    next_on: Annotated[date | None, "When."]
    matings: Annotated[int, About("How often its connector was mated.", minimum=None)]
    rated_matings: Annotated[int, "How often it may be."]
    steps: Annotated[tuple[StandingStep, ...], "How the chance came about."]


@dataclass(frozen=True)
class PieceStatus:
    """A piece with its part, its lot, where it is and how far it can be trusted."""

    piece: Annotated[PieceRecord, "The piece."]
    part: Annotated[PartRecord, "The part it is one of."]
    lot: Annotated[LotRecord, "The lot it came with."]
    where: Annotated[PieceLocation, "Where it is."]
    standing: Annotated[StandingRecord, "How far it can be trusted."]


@dataclass(frozen=True)
class TimelineEntry:
    """One line of what happened to a piece."""

    at: Annotated[datetime, "When."]
    what: Annotated[str, "movement, proof, loan or hold."]
    words: Annotated[str, "What happened."]
    person: Annotated[str, "Who did it."] = ""
    job_id: Annotated[int | None, "On this job."] = None
    job_number: Annotated[str, "That job's number."] = ""
    good: Annotated[bool | None, "A proof passed or a unit worked; null: it says neither."] = None
    struck: Annotated[bool, "Logged by mistake, and no longer counted."] = False
    entry: Annotated[int | None, About("The entry of the ledger.", maximum=None)] = None
    proof_id: Annotated[int | None, "The proof."] = None
    loan_id: Annotated[int | None, "The loan."] = None


@dataclass(frozen=True)
class CheckRecord:
    """One reading that a procedure asks for. Limits are decimal text and count as inside; none: yes or no.

    With ``times_rated`` they are shares of that attribute of the part.
    """

    position: Annotated[int, "Its place in the procedure."]
    name: Annotated[str, "What is read.", Sent(edit=False, minimum=1, maximum=120, required=True, example="Current")]
    unit: Annotated[
        str, "Its unit; empty: it is answered yes or no.", Sent(edit=False, maximum=20, default="", example="A")
    ]
    low: Annotated[
        str,
        "Lower limit, counts as inside.",
        Sent("Lower limit, decimal text, counts as inside.", edit=False, maximum=30, default=""),
    ]
    high: Annotated[
        str,
        "Upper limit, counts as inside.",
        Sent("Upper limit, decimal text, counts as inside.", edit=False, maximum=30, default="", example="0.2"),
    ]
    times_rated: Annotated[
        str, "The limits are shares of this attribute of the part.", Sent(edit=False, maximum=30, default="")
    ]

    @property
    def yes_or_no(self) -> bool:
        """It is answered yes or no."""
        return not self.low and not self.high


@dataclass(frozen=True)
class ProcedureRecord:
    """A named way to test a piece, in one of its editions."""

    id: Annotated[int, "The id of this edition."]
    name: Annotated[
        str, "What it is called.", Sent(edit=False, minimum=1, maximum=120, required=True, example="Fan bench run")
    ]
    edition: Annotated[int, About("Which edition.", minimum=1)]
    kind: Annotated[str, About("For parts of this kind; empty: any.", choices=("", *PART_KINDS)), Sent(default="")]
    part_id: Annotated[int | None, "For this part only.", Sent()]
    steps: Annotated[str, "What to do.", Sent(maximum=5000, default="")]
    hazards: Annotated[Sequence[str], "What to mind, by key.", Sent(maximum=20)]
    source: Annotated[str, "Where its limits are from.", Sent(maximum=300, default="")]
    sensitivity: Annotated[
        float, chance("P(fails | bad)."), Sent("P(fails | bad), between 0 and 1.", default=DEFAULT_SENSITIVITY)
    ]
    specificity: Annotated[
        float, chance("P(passes | good)."), Sent("P(passes | good), between 0 and 1.", default=DEFAULT_SPECIFICITY)
    ]
    retired: Annotated[bool, "No longer offered."]
    created: Annotated[datetime, "When this edition was made."]
    checks: Annotated[tuple[CheckRecord, ...], "What is read."]


@dataclass(frozen=True)
class ReadingRecord:
    """One reading with the limits it was held against; ``says`` puts it in words."""

    position: Annotated[int, "Its place in the procedure."]
    name: Annotated[str, "What was read."]
    unit: Annotated[str, "Its unit."]
    value: Annotated[str, "What was read."]
    low: Annotated[str, "Lower limit."]
    high: Annotated[str, "Upper limit."]
    passed: Annotated[bool, "It lies inside."]
    says: Annotated[str, "The same in words."]


def describe_failed_readings(readings: Sequence[ReadingRecord]) -> str:
    """Say which of these readings failed; empty when none did."""
    return "; ".join(reading.says for reading in readings if not reading.passed)


@dataclass(frozen=True)
class ProofRecord:
    """A dated test of a piece, or "it ran in this job's unit" (no procedure)."""

    id: Annotated[int, "Its id."]
    piece_id: Annotated[int, "The piece."]
    procedure_id: Annotated[int | None, "By this procedure; null: it ran in a unit."]
    procedure: Annotated[str, "What the procedure is called."]
    edition: Annotated[int | None, "Which edition."]
    job_id: Annotated[int | None, "On this job."]
    job_number: Annotated[str, "That job's number."]
    at: Annotated[datetime, "When."]
    person: Annotated[str, "Who tested."]
    passed: Annotated[bool, "It passed."]
    sensitivity: Annotated[float, chance("P(fails | bad) of the test.")]
    specificity: Annotated[float, chance("P(passes | good) of the test.")]
    instrument: Annotated[str, "What it was read with."]
    minutes: Annotated[float | None, About("Minutes that it took, if it was timed.", minimum=None, maximum=None)]
    note: Annotated[str, "What else to know."]
    struck: Annotated[datetime | None, "When it was struck as logged by mistake."]
    struck_by: Annotated[str, "Who struck it."]
    struck_reason: Annotated[str, "Why."]
    readings: Annotated[tuple[ReadingRecord, ...], "What was read."]

    @property
    def failed_reading(self) -> str:
        """Which readings failed, in words; empty when none did."""
        return describe_failed_readings(self.readings)


@dataclass(frozen=True)
class ResolvedProcedure:
    """What a procedure asks of one piece: its checks with the limits of this very part."""

    procedure: Annotated[ProcedureRecord, "The procedure."]
    checks: Annotated[tuple[CheckRecord, ...], "Its checks, with the limits of this very part."]
    cautions: Annotated[tuple[CautionRecord, ...], "What to mind."]


@dataclass(frozen=True)
class ProofResult:
    """A proof that was noted, and what it did to the standing."""

    proof: Annotated[ProofRecord, "The proof."]
    sentence: Annotated[str, "What it says, for people."]
    before: Annotated[StandingRecord, "The standing before."]
    after: Annotated[StandingRecord, "The standing now."]


@dataclass(frozen=True)
class LoanRecord:
    """A piece that is or was out to a job for a swap test."""

    id: Annotated[int, "Its id."]
    piece_id: Annotated[int, "The piece."]
    piece_code: Annotated[str, "What the piece's label says."]
    piece_name: Annotated[str, "What the bench calls it."]
    part_id: Annotated[int, "The part it is one of."]
    part_name: Annotated[str, "What the part is called."]
    job_id: Annotated[int, "To this job."]
    job_number: Annotated[str, "That job's number."]
    suspect_id: Annotated[int | None, "In place of this suspect."]
    suspect: Annotated[str, "What the suspect is called."]
    bin_id: Annotated[int, "Where it was taken from."]
    bin_name: Annotated[str, "What that bin is called."]
    p_good: Annotated[float, chance("The chance that it was good, when it was taken.")]
    standing: Annotated[str, "Its standing then."]
    taken: Annotated[datetime, "When it was taken."]
    taken_by: Annotated[str, "Who took it."]
    due: Annotated[datetime, "When it is due back."]
    ended: Annotated[datetime | None, "When it ended; null: it is out."]
    ended_by: Annotated[str, "Who ended it."]
    result: Annotated[str, "What the unit did with it; cancelled; empty while it is out."]
    stayed: Annotated[bool, "It stayed fitted."]
    others_good: Annotated[float | None, chance("The chance that all else was good.")]
    proof_id: Annotated[int | None, "The proof that followed."]
    note: Annotated[str, "What else to know."]
    overdue: Annotated[bool, "It should be back by now."]

    @property
    def shown_as(self) -> str:
        """What people call the piece."""
        return name_or_code(self.piece_name, self.piece_code)


@dataclass(frozen=True)
class LoanStarted:
    """A piece that went out: what it is worth, and what to mind before it is fitted."""

    loan: Annotated[LoanRecord, "The loan."]
    sentence: Annotated[str, "What was done, for people."]
    standing: Annotated[StandingRecord, "How far it can be trusted."]
    warnings: Annotated[tuple[str, ...], "What speaks against relying on it."]
    cautions: Annotated[tuple[CautionRecord, ...], "What to mind."]


@dataclass(frozen=True)
class LoanEnded:
    """A loan that ended, with what the result did to the piece's standing."""

    loan: Annotated[LoanRecord, "The loan."]
    sentence: Annotated[str, "What was done, for people."]
    before: Annotated[StandingRecord, "The standing before."]
    after: Annotated[StandingRecord, "The standing now."]
    proof: Annotated[ProofRecord | None, "That it ran in this job's unit."] = None
    entry: Annotated[
        int | None, About("The entry of the ledger, if it changed its bin or stayed fitted.", maximum=None)
    ] = None
    warnings: Annotated[tuple[str, ...], "What to watch."] = ()


@dataclass(frozen=True)
class SpareOption:
    """A piece that could stand in for a suspect, and how it fits."""

    seen: Annotated[PieceStatus, "The piece."]
    how: Annotated[str, "How it fits."]
    free: Annotated[bool, "It can be taken now."]


@dataclass(frozen=True)
class SpareChoice:
    """The pieces that could stand in, best first, and that in a sentence."""

    sentence: Annotated[str, "The same in a sentence."]
    options: Annotated[tuple[SpareOption, ...], "The pieces."]
