"""Plain records about diagnosis: what was seen on a job, what it says, what to do next, what it turned out to be."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from inventory.domain.common.described import About, chance
from inventory.domain.common.records import JobRecord, LotRecord, PartRecord, PieceRecord
from inventory.reckoning.proof.standing import chance_text

EVIDENCE_KINDS = ("measured", "swapped", "new part", "repaired", "put back")
CANDIDATE_KINDS = ("suspect", "spare", "new part", "repaired", "not on the list")

SUSPECT, SPARE, NEW_PART, REPAIRED, NOT_LISTED = "suspect", "spare", "new part", "repaired", "not on the list"


@dataclass(frozen=True)
class EvidenceRecord:
    """One observation about the suspects of a job, in words and figures."""

    id: Annotated[int, "Its id."]
    job_id: Annotated[int, "The job."]
    kind: Annotated[str, About("What was done.", choices=EVIDENCE_KINDS)]
    suspect_id: Annotated[int | None, "The suspect it is about."]
    suspect: Annotated[str, "What that is called."]
    at: Annotated[datetime, "When."]
    person: Annotated[str, "Who logged it."]
    words: Annotated[str, "What was seen, for people."]
    works: Annotated[bool | None, "How the unit then ran."]
    says_bad: Annotated[bool | None, "What the measurement says."]
    sensitivity: Annotated[float | None, chance("P(says bad | bad).")]
    specificity: Annotated[float | None, chance("P(says good | good).")]
    lot_id: Annotated[int | None, "The lot of the new part."]
    p_good: Annotated[float | None, chance("Chance that the new part was good, as believed then.")]
    bad_if_good: Annotated[float | None, chance("P(bad after the repair | good before).")]
    bad_if_bad: Annotated[float | None, chance("P(bad after the repair | bad before).")]
    loan_ids: Annotated[tuple[int, ...], "The loans of the pieces that were in the unit."]
    note: Annotated[str, "What else to know."]
    struck: Annotated[datetime | None, "When it was struck out; null: it counts."]
    struck_by: Annotated[str, "Who struck it out."]
    struck_reason: Annotated[str, "Why."]


@dataclass(frozen=True)
class FaultCandidate:
    """One thing of a job that may be bad: an original, a spare, a new part, a repaired one, or what is not listed."""

    name: Annotated[str, "What it is called."]
    what: Annotated[str, About("What it is.", choices=CANDIDATE_KINDS)]
    p_bad: Annotated[float, chance("Chance that it is bad, by the whole log.")]
    before: Annotated[float | None, chance("The same before the last line that counts; null: it was not there.")]
    prior: Annotated[float | None, chance("The same when only the complaint was known; null: it came later.")]
    fitted: Annotated[bool, "It is in the unit now."]
    place: Annotated[str, "The suspect in whose place it is or was tried."]
    suspect_id: Annotated[int | None, "That suspect."]
    piece_id: Annotated[int | None, "The piece, for a spare."]

    @property
    def p_good(self) -> float:
        """The chance that it is good."""
        return 1.0 - self.p_bad


@dataclass(frozen=True)
class ChanceChange:
    """How one line of the log moved the chance that a thing is bad; ``before`` is None for a newcomer."""

    name: Annotated[str, "What may be bad."]
    what: Annotated[str, About("What it is.", choices=CANDIDATE_KINDS)]
    before: Annotated[float | None, chance("Chance of being bad before; null: it was not there.")]
    after: Annotated[float, chance("Chance of being bad after.")]

    @property
    def shows(self) -> bool:
        """Whether it moved by enough to be seen in tenths of a per cent, as chances are shown."""
        return self.before is None or _tenths_of_percent(self.before) != _tenths_of_percent(self.after)


def _tenths_of_percent(share: float) -> int:
    return min(max(round(share * 1000), 1), 999)


@dataclass(frozen=True)
class DiagnosisLogLine:
    """One thing that was seen on a job; ``moved`` is what it did to the chances."""

    at: Annotated[datetime, "When."]
    kind: Annotated[str, "complaint, swap test, bench test, or a kind of evidence."]
    words: Annotated[str, "What was seen."]
    person: Annotated[str, "Who saw it."]
    counts: Annotated[bool, "It is weighed."]
    remark: Annotated[str, "Why it is not weighed, or how."]
    evidence_id: Annotated[int | None, "The observation."]
    loan_id: Annotated[int | None, "The loan whose result it is."]
    piece_id: Annotated[int | None, "The piece it is about."]
    good: Annotated[bool | None, "The unit worked, or the test said good; null: neither."]
    struck_reason: Annotated[str, "Why it was struck out."]
    moved: Annotated[tuple[ChanceChange, ...], "What it did to the chances."]
    still: Annotated[str, "Why no chance moved by as much as a tenth of a per cent; empty when one did."]


@dataclass(frozen=True)
class FaultSet:
    """Things that are bad together, and the chance of just that."""

    names: Annotated[tuple[str, ...], "Which; empty: nothing that is fitted now."]
    chance: Annotated[float, chance("Chance of just that.")]


@dataclass(frozen=True)
class PriorCount:
    """How often a suspect was at fault on earlier jobs, and its smoothed share of the faults."""

    name: Annotated[str, "The suspect."]
    times: Annotated[int, "Closed jobs on which it was at fault."]
    share: Annotated[float, chance("Its smoothed share of the faults.")]


@dataclass(frozen=True)
class PriorJob:
    """A closed job that counted for where the chances of another start."""

    id: Annotated[int, "Its id."]
    number: Annotated[str, "Its number."]
    symptom: Annotated[str, "Its symptom, in the customer's words."]
    it_was: Annotated[str, "What it turned out to be."]


@dataclass(frozen=True)
class PriorsRecord:
    """Where the chances started: what closed jobs of the same model and symptom turned out to be."""

    words: Annotated[str, "Where they come from, for people."]
    jobs: Annotated[int, "Closed jobs of that model and symptom that count; 0: all suspects start equal."]
    counts: Annotated[tuple[PriorCount, ...], "The suspects."]
    elsewhere: Annotated[PriorCount, "What is not on the list."]
    smoothing: Annotated[float, "Assumed faults that are spread evenly over the suspects."]
    counted: Annotated[tuple[PriorJob, ...], "The jobs that counted, newest first."]


@dataclass(frozen=True)
class DiagnosisRecord:
    """What the whole log of a job says."""

    job_id: Annotated[int, "The job."]
    sentence: Annotated[str, "What it says, for people."]
    suspects: Annotated[tuple[FaultCandidate, ...], "The suspects and what is not on the list, the likeliest first."]
    others: Annotated[tuple[FaultCandidate, ...], "Spares, new parts and repaired things."]
    likely: Annotated[tuple[FaultSet, ...], "The likeliest sets of faults in what is fitted now."]
    p_evidence: Annotated[float, chance("Chance of the whole log, before any of it was seen.")]
    priors: Annotated[PriorsRecord, "Where the chances started."]
    log: Annotated[tuple[DiagnosisLogLine, ...], "The log, oldest first."]


@dataclass(frozen=True)
class EvidenceResult:
    """An observation that was logged, and what it did to the chances."""

    evidence: Annotated[EvidenceRecord, "The observation."]
    sentence: Annotated[str, "What it says, for people."]
    moved: Annotated[tuple[ChanceChange, ...], "The chances, the most moved first."]


@dataclass(frozen=True)
class NextStepRecord:
    """One possible next step on a job, in money."""

    action: Annotated[str, About("What kind of step.", choices=("fix", "measure", "run again", "give up"))]
    how: Annotated[
        str,
        About(
            "What a fix is done with; out: a piece that is out already, keep: one that the unit worked with.",
            choices=("", "out", "keep", "spare", "shelf", "order", "repair"),
        ),
    ]
    words: Annotated[str, "What to do, for people."]
    suspect: Annotated[str, "The suspect it is about."]
    suspect_id: Annotated[int | None, "That suspect."]
    part_id: Annotated[int | None, "Its part."]
    piece_id: Annotated[int | None, "The spare."]
    piece: Annotated[str, "What the spare is called."]
    standing: Annotated[str, "How far the spare can be trusted."]
    bin_id: Annotated[int | None, "Where it is."]
    bin: Annotated[str, "What that bin is called."]
    loan_id: Annotated[int | None, "out: the loan that waits for a result; keep: the one with which it worked."]
    procedure_id: Annotated[int | None, "The procedure to measure it by."]
    minutes: Annotated[float, "Minutes at the bench."]
    price_minor: Annotated[int, About("Price of what would be fitted, in minor units.", minimum=None, maximum=None)]
    lead_days: Annotated[float, "Days until it is here."]
    p_good: Annotated[float | None, chance("Chance that what would be fitted is good, or that the repair takes.")]
    cost_now_minor: Annotated[int, About("Expected cost of the step, in minor units.", minimum=None, maximum=None)]
    p_ends: Annotated[float, chance("Chance that the unit is seen working after it.")]
    cost_after_minor: Annotated[
        int, About("Expected cost afterwards, working down the list, in minor units.", minimum=None, maximum=None)
    ]
    total_minor: Annotated[int, About("Expected total, in minor units.", minimum=None, maximum=None)]


@dataclass(frozen=True)
class AssumedFigure:
    """A figure that the advice rests on, and whether the shop's own log or an assumption gave it."""

    name: Annotated[str, "The shop's setting, or a short name."]
    words: Annotated[str, "What it is, and how much."]
    assumed: Annotated[bool, "Nobody set it yet: it was chosen by us, with no published source."]
    meaning: str = ""  # the words without their figure, for money
    minor: int | None = None  # the figure, if it is money


@dataclass(frozen=True)
class NextStepsRecord:
    """What could be done next: what is under way first, then the cheapest in expectation."""

    job_id: Annotated[int, "The job."]
    sentence: Annotated[str, "What to do, for people."]
    steps: Annotated[
        tuple[NextStepRecord, ...], "The steps: what is under way first, then the cheapest in expectation."
    ]
    left_out: Annotated[tuple[str, ...], "Suspects too unlikely to be looked over."]
    figures: Annotated[tuple[AssumedFigure, ...], "What the costs rest on."]


@dataclass(frozen=True)
class CarriedBackRecord:
    """What a closed job's whole log said of a piece."""

    piece_id: Annotated[int, "The piece."]
    piece: Annotated[str, "What it is called."]
    p_before: Annotated[float, chance("Chance that it was good, when the job took it.")]
    p_after: Annotated[float, chance("The same by all that the job saw.")]

    @property
    def sentence(self) -> str:
        """Say it to the person who closed the job."""
        before, after = chance_text(self.p_before), chance_text(self.p_after)
        return f"By all that this job saw, {self.piece} is {after} good; it was taken at {before}."


@dataclass(frozen=True)
class ClosingRecord:
    """What a job turned out to be, and what that taught about the spares that were on it."""

    job: Annotated[JobRecord, "The job."]
    at: Annotated[datetime, "When it was closed."]
    person: Annotated[str, "Who closed it."]
    was: Annotated[tuple[str, ...], "The suspects that it was."]
    something_else: Annotated[bool, "It was something not on the list."]
    carried: Annotated[tuple[CarriedBackRecord, ...], "What it said of the spares."]
    not_carried: Annotated[str, "Why the log could not be weighed; empty: it was."]


@dataclass(frozen=True)
class SurplusPart:
    """A part that a job bought or took, and that was not at fault: it may become a spare."""

    part: Annotated[PartRecord, "The part."]
    lot: Annotated[LotRecord, "Its lot."]
    quantity: Annotated[int, "How many."]
    taken: Annotated[bool, "The job has it; else it came in for the job."]
    bin_id: Annotated[int, "The bin it came from or lies in."]
    bin: Annotated[str, "What that bin is called."]
    ran: Annotated[bool, "The log saw the unit work with it."]
    sentence: Annotated[str, "The offer, for people."]
    piece_id: Annotated[int | None, "The piece, if it is one already."]


@dataclass(frozen=True)
class KeptSpare:
    """An unneeded part that is a spare now: print its label."""

    piece: Annotated[PieceRecord, "The piece: print its label."]
    bin_id: Annotated[int, "Where it is."]
    bin: Annotated[str, "What that bin is called."]
    proved: Annotated[bool, "Its run in the unit was noted as its proof."]
    sentence: Annotated[str, "What was done, for people."]


@dataclass(frozen=True)
class SpareValueRecord:
    """What keeping one proved spare of a part is worth a year. Money in minor units, rounded."""

    part: Annotated[PartRecord, "The part."]
    jobs: Annotated[int, "Jobs that suspected it, in the years counted."]
    times_bad: Annotated[int, "How often it was at fault."]
    jobs_a_year: Annotated[float, "The same a year."]
    p_bad: Annotated[float, chance("Chance that it is the fault when it is suspected.")]
    price_minor: Annotated[int, About("What one costs, in minor units.", minimum=None, maximum=None)]
    lead_days: Annotated[float, "Days that one takes to come."]
    ordered_if_bad: Annotated[float, chance("Chance that it is ordered when it is the fault.")]
    ordered_if_good: Annotated[float, chance("Chance that it is ordered in vain.")]
    orders_seen: Annotated[int, "Jobs from which those two were counted."]
    saving_minor: Annotated[
        int, About("What a proved spare saves on each such job, in minor units.", minimum=None, maximum=None)
    ]
    value_minor: Annotated[
        int, About("What keeping one is worth a year, in minor units.", minimum=None, maximum=None)
    ]
    break_even_jobs: Annotated[float | None, "Jobs a year from which it pays; null: no number does."]
    p_good: Annotated[float, chance("Chance that the spare is good.")]
    pieces: Annotated[tuple[str, ...], "The spares of it that are here."]
    proved: Annotated[int, "How many of them are proved."]
    swapped_jobs: Annotated[int, "Jobs on which one was swapped."]
    kept_since: Annotated[datetime | None, "When the first one was kept."]
    saved_minor: Annotated[
        int | None, About("What that has saved so far; null: never kept, in minor units.", minimum=None, maximum=None)
    ]


@dataclass(frozen=True)
class SpareValueList:
    """Which spares are worth proving and keeping, the most valuable first."""

    parts: Annotated[tuple[SpareValueRecord, ...], "The parts, the most valuable first."]
    unpriced: Annotated[tuple[PartRecord, ...], "Suspected, but nobody noted what they cost."]
    years: Annotated[float, "Years of the shop's own jobs that were counted."]
    saved_minor: Annotated[
        int, About("What all of them have saved so far, in minor units.", minimum=None, maximum=None)
    ]
    figures: Annotated[tuple[AssumedFigure, ...], "What the values rest on."]
