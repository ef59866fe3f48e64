"""Plain records about proof: pieces with their standing, procedures, proofs, loans."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from inventory.domain.common.records import LotRecord, PartRecord, PieceRecord
from shared.codes import name_or_code


@dataclass(frozen=True)
class CautionRecord:
    """What to mind before touching something; ``line`` is short enough for a label."""

    key: str  # of shared.hazards; empty: the part's own caution
    title: str
    line: str
    text: str


@dataclass(frozen=True)
class PieceLocation:
    """Where a piece is, in words and for programs."""

    state: str  # in bin, out, fitted, scrapped, gone
    words: str  # "in bin A-03", "out with job 1042 since 12 Mar 2026"
    bin_id: int | None = None  # where it is, or where it goes back to
    bin_name: str = ""
    job_id: int | None = None
    job_number: str = ""
    loan_id: int | None = None
    since: datetime | None = None
    due: datetime | None = None
    overdue: bool = False


@dataclass(frozen=True)
class StandingStep:
    """One line of how a piece's chance came about."""

    at: datetime
    p_good: float
    words: str


@dataclass(frozen=True)
class StandingRecord:
    """How far a piece can be trusted as a test instrument, at the moment ``at``."""

    piece_id: int
    at: datetime
    word: str  # unproved, proved, lapsed, doubtful, failed
    p_good: float
    why: str
    worth: str  # what a unit that still fails with it would say of the suspect
    valid_until: date | None  # last day on which time alone leaves it proved; None: it is not proved
    proof_until: date | None  # last day on which its last proof is in date
    next_word: str  # what time alone makes of it next, and when
    next_on: date | None
    matings: int
    rated_matings: int
    steps: tuple[StandingStep, ...]


@dataclass(frozen=True)
class PieceStatus:
    """A piece with its part, its lot, where it is and how far it can be trusted."""

    piece: PieceRecord
    part: PartRecord
    lot: LotRecord
    where: PieceLocation
    standing: StandingRecord


@dataclass(frozen=True)
class TimelineEntry:
    """One line of what happened to a piece."""

    at: datetime
    what: str  # movement, proof, loan, hold
    words: str
    person: str = ""
    job_id: int | None = None
    job_number: str = ""
    good: bool | None = None  # a proof passed or a unit worked; None: says neither
    struck: bool = False  # logged by mistake, no longer counted
    entry: int | None = None
    proof_id: int | None = None
    loan_id: int | None = None


@dataclass(frozen=True)
class CheckRecord:
    """One reading that a procedure asks for. Limits are decimal text and count as inside; none: yes or no.

    With ``times_rated`` they are shares of that attribute of the part.
    """

    position: int
    name: str
    unit: str
    low: str
    high: str
    times_rated: str

    @property
    def yes_or_no(self) -> bool:
        """Tell whether the check is answered yes or no, not with a reading."""
        return not self.low and not self.high


@dataclass(frozen=True)
class ProcedureRecord:
    """A named way to test a piece, in one of its editions."""

    id: int
    name: str
    edition: int
    kind: str
    part_id: int | None
    steps: str
    hazards: Sequence[str]
    source: str
    sensitivity: float
    specificity: float
    retired: bool
    created: datetime
    checks: tuple[CheckRecord, ...]


@dataclass(frozen=True)
class ReadingRecord:
    """One reading with the limits it was held against; ``says`` puts it in words."""

    position: int
    name: str
    unit: str
    value: str
    low: str
    high: str
    passed: bool
    says: str


def describe_failed_readings(readings: Sequence[ReadingRecord]) -> str:
    """Say which of these readings failed; empty when none did."""
    return "; ".join(reading.says for reading in readings if not reading.passed)


@dataclass(frozen=True)
class ProofRecord:
    """A dated test of a piece, or "it ran in this job's unit" (no procedure)."""

    id: int
    piece_id: int
    procedure_id: int | None
    procedure: str
    edition: int | None
    job_id: int | None
    job_number: str
    at: datetime
    person: str
    passed: bool
    sensitivity: float
    specificity: float
    instrument: str
    minutes: float | None  # that it took, where it was timed
    note: str
    struck: datetime | None
    struck_by: str
    struck_reason: str
    readings: tuple[ReadingRecord, ...]

    @property
    def failed_reading(self) -> str:
        """Which readings failed, in words; empty when none did."""
        return describe_failed_readings(self.readings)


@dataclass(frozen=True)
class ResolvedProcedure:
    """What a procedure asks of one piece: its checks with the limits of this very part."""

    procedure: ProcedureRecord
    checks: tuple[CheckRecord, ...]
    cautions: tuple[CautionRecord, ...]


@dataclass(frozen=True)
class ProofResult:
    """A proof that was noted, and what it did to the standing."""

    proof: ProofRecord
    sentence: str
    before: StandingRecord
    after: StandingRecord


@dataclass(frozen=True)
class LoanRecord:
    """A piece that is or was out to a job for a swap test."""

    id: int
    piece_id: int
    piece_code: str
    piece_name: str
    part_id: int
    part_name: str
    job_id: int
    job_number: str
    suspect_id: int | None
    suspect: str
    bin_id: int
    bin_name: str
    p_good: float  # believed when it was taken
    standing: str
    taken: datetime
    taken_by: str
    due: datetime
    ended: datetime | None
    ended_by: str
    result: str  # works with it, still fails, cannot tell; cancelled; empty while it is out
    stayed: bool
    others_good: float | None
    proof_id: int | None
    note: str
    overdue: bool

    @property
    def shown_as(self) -> str:
        """What people call the piece."""
        return name_or_code(self.piece_name, self.piece_code)


@dataclass(frozen=True)
class LoanStarted:
    """A piece that went out: what it is worth, and what to mind before it is fitted."""

    loan: LoanRecord
    sentence: str
    standing: StandingRecord
    warnings: tuple[str, ...]
    cautions: tuple[CautionRecord, ...]


@dataclass(frozen=True)
class LoanEnded:
    """A loan that ended, with what the result did to the piece's standing."""

    loan: LoanRecord
    sentence: str
    before: StandingRecord
    after: StandingRecord
    proof: ProofRecord | None = None  # "it ran in this job's unit"
    entry: int | None = None  # of the ledger, when it changed its bin or stayed fitted
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class SpareOption:
    """A piece that could stand in for a suspect, and how it fits."""

    seen: PieceStatus
    how: str  # "the same part", "stands in: wires are longer", "fits the Corvid 7"
    free: bool  # in its bin, and its lot not on hold


@dataclass(frozen=True)
class SpareChoice:
    """The pieces that could stand in, best first, and that in a sentence."""

    sentence: str
    options: tuple[SpareOption, ...]
