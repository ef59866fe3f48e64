"""Plain records about diagnosis: what was seen on a job, what it says, what to do next, what it turned out to be."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from inventory.domain.common.records import JobRecord, LotRecord, PartRecord, PieceRecord
from inventory.reckoning.proof.standing import percent

SUSPECT, SPARE, NEW_PART, REPAIRED, ELSEWHERE = "suspect", "spare", "new part", "repaired", "not on the list"


@dataclass(frozen=True)
class EvidenceRecord:
    """One observation about the suspects of a job, in words and figures."""

    id: int
    job_id: int
    kind: str  # measured, swapped, new part, repaired, put back
    suspect_id: int | None
    suspect: str
    at: datetime
    person: str
    says_bad: bool | None
    sensitivity: float | None
    specificity: float | None
    lot_id: int | None
    p_good: float | None
    bad_if_good: float | None
    bad_if_bad: float | None
    works: bool | None
    loan_ids: tuple[int, ...]
    words: str
    note: str
    struck: datetime | None
    struck_by: str
    struck_reason: str


@dataclass(frozen=True)
class Thing:
    """One thing of a job that may be bad: an original, a spare, a new part, a repaired one, or what is not listed."""

    name: str
    what: str  # suspect, spare, new part, repaired, not on the list
    p_bad: float
    before: float | None  # before the last thing that counted; None: it was not there yet
    prior: float | None  # when only the complaint was known; None: it came later
    fitted: bool  # it is in the unit now
    place: str  # the suspect in whose place it is or was tried; its own name for a suspect
    suspect_id: int | None
    piece_id: int | None

    @property
    def p_good(self) -> float:
        """The chance that it is good."""
        return 1.0 - self.p_bad


@dataclass(frozen=True)
class Moved:
    """How one line of the log moved the chance that a thing is bad; ``before`` is None for a newcomer."""

    name: str
    what: str
    before: float | None
    after: float

    @property
    def shows(self) -> bool:
        """Whether it moved by enough to be seen in tenths of a per cent, as chances are shown."""
        return self.before is None or _tenths(self.before) != _tenths(self.after)


def _tenths(share: float) -> int:
    return min(max(round(share * 1000), 1), 999)


@dataclass(frozen=True)
class LogLine:
    """One thing that was seen on a job; ``moved`` is what it did to the chances."""

    at: datetime
    kind: str  # complaint, swap test, measured, swapped, new part, repaired, put back
    words: str
    person: str
    counts: bool
    remark: str  # why it does not count, or how it was weighed
    evidence_id: int | None
    loan_id: int | None
    piece_id: int | None
    good: bool | None  # the unit worked, or a measurement said good; None: says neither
    struck_reason: str
    moved: tuple[Moved, ...]
    still: str  # why nothing moved, for a line that counts and moved nothing that can be seen


@dataclass(frozen=True)
class FaultSet:
    """Things that are bad together, and the chance of just that."""

    names: tuple[str, ...]
    chance: float


@dataclass(frozen=True)
class PriorCount:
    """How often a suspect was at fault on earlier jobs, and its smoothed share of the faults."""

    name: str
    times: int
    share: float


@dataclass(frozen=True)
class CountedJob:
    """A closed job that counted for where the chances of another start."""

    id: int
    number: str
    symptom: str
    it_was: str


@dataclass(frozen=True)
class PriorsRecord:
    """Where the chances started: what closed jobs of the same model and symptom turned out to be."""

    words: str
    jobs: int
    counts: tuple[PriorCount, ...]
    elsewhere: PriorCount
    smoothing: float  # assumed faults that are spread evenly
    counted: tuple[CountedJob, ...]  # the jobs, newest first


@dataclass(frozen=True)
class DiagnosisRecord:
    """What the whole log of a job says."""

    job_id: int
    sentence: str
    suspects: tuple[Thing, ...]  # the likeliest first, what is not on the list among them
    others: tuple[Thing, ...]  # spares, new parts and repaired things
    likely: tuple[FaultSet, ...]  # of what is fitted now
    p_evidence: float
    priors: PriorsRecord
    log: tuple[LogLine, ...]  # oldest first


@dataclass(frozen=True)
class Noted:
    """An observation that was logged, and what it did to the chances."""

    evidence: EvidenceRecord
    sentence: str
    moved: tuple[Moved, ...]


@dataclass(frozen=True)
class StepRecord:
    """One possible next step on a job, in money."""

    action: str  # fix, measure, run again, give up
    how: str  # out, keep, spare, shelf, order, repair; empty for the others
    words: str
    suspect: str
    suspect_id: int | None
    part_id: int | None
    piece_id: int | None
    piece: str
    standing: str
    bin_id: int | None
    bin: str
    loan_id: int | None  # out: the loan whose result is wanted; keep: the one that ended with "works with it"
    procedure_id: int | None
    minutes: float
    price_minor: int
    lead_days: float
    p_good: float | None  # of what would be fitted
    cost_now_minor: int  # expected
    p_ends: float  # chance that the unit is seen working after it
    cost_after_minor: int  # expected, working down the list from there
    total_minor: int


@dataclass(frozen=True)
class AssumedFigure:
    """A figure that the advice rests on, and whether the shop's own log or an assumption gave it."""

    name: str
    words: str
    assumed: bool
    meaning: str = ""  # the words without their figure, for money
    minor: int | None = None  # the figure, if it is money


@dataclass(frozen=True)
class NextStepsRecord:
    """What could be done next: what is under way first, then the cheapest in expectation."""

    job_id: int
    sentence: str
    steps: tuple[StepRecord, ...]
    left_out: tuple[str, ...]  # suspects too unlikely to be looked over
    figures: tuple[AssumedFigure, ...]


@dataclass(frozen=True)
class CarriedRecord:
    """What a closed job's whole log said of a piece."""

    piece_id: int
    piece: str
    p_before: float
    p_after: float

    @property
    def sentence(self) -> str:
        """Say it to the person who closed the job."""
        before, after = percent(self.p_before), percent(self.p_after)
        return f"By all that this job saw, {self.piece} is {after} good; it was taken at {before}."


@dataclass(frozen=True)
class ClosingRecord:
    """What a job turned out to be, and what that taught about the spares that were on it."""

    job: JobRecord
    at: datetime
    person: str
    was: tuple[str, ...]  # names of the suspects that it was
    something_else: bool
    carried: tuple[CarriedRecord, ...]
    not_carried: str  # why the log could not be weighed; empty when it was


@dataclass(frozen=True)
class Unneeded:
    """A part that a job bought or took, and that was not at fault: it may become a spare."""

    part: PartRecord
    lot: LotRecord
    quantity: int
    taken: bool  # the job has it; else it came in for the job and lies in a bin
    bin_id: int  # where it came from, or lies
    bin: str
    ran: bool  # the job's log saw the unit work with it
    sentence: str
    piece_id: int | None  # if it is a piece of its own already


@dataclass(frozen=True)
class KeptSpare:
    """An unneeded part that is a spare now: print its label."""

    piece: PieceRecord
    bin_id: int
    bin: str
    proved: bool
    sentence: str


@dataclass(frozen=True)
class KeepRecord:
    """What keeping one proved spare of a part is worth a year. Money in minor units, rounded."""

    part: PartRecord
    jobs: int  # that suspected it, in the time looked at
    times_bad: int
    jobs_a_year: float
    p_bad: float
    price_minor: int
    lead_days: float
    ordered_if_bad: float
    ordered_if_good: float
    orders_seen: int  # jobs from which those two were counted, besides what is assumed
    saving_minor: int  # on each job
    value_minor: int  # a year
    break_even_jobs: float | None
    pieces: tuple[str, ...]  # spares of it that are here
    proved: int
    swapped_jobs: int
    kept_since: datetime | None
    saved_minor: int | None  # so far; None: never kept
    p_good: float  # of the best spare that is kept, else assumed


@dataclass(frozen=True)
class KeepListRecord:
    """Which spares are worth proving and keeping, the most valuable first."""

    parts: tuple[KeepRecord, ...]
    unpriced: tuple[PartRecord, ...]  # suspected, but nobody noted what they cost
    years: float  # of the shop's own jobs that were counted
    saved_minor: int
    figures: tuple[AssumedFigure, ...]
