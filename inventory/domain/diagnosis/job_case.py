"""Turns the log of a job into a case for the reckoning: suspects with priors, and what was seen step by step.

The log is the truth: the case is made anew from it each time. A spare joins with the chance of being good that was
believed when it was first taken for the job. Where several originals, spares and new parts have been in a place,
the case keeps each apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.diagnosis import diagnosis_records as r
from inventory.domain.jobs.job_log import BENCH_TEST, COMPLAINT, SWAP_TEST, LogEntry
from inventory.reckoning.common.bayes import DEFAULT_MASK, DEFAULT_MISREAD
from inventory.reckoning.diagnosis.case import (
    LEAK,
    MAX_NAME_LENGTH,
    AddSpareStep,
    CaseStep,
    ChangeStep,
    DiagnosisCase,
    FitStep,
    MeasureStep,
    RunStep,
)
from inventory.reckoning.diagnosis.priors import SuspectPriors

WORKS_WITH_IT, STILL_FAILS = "works with it", "still fails"


@dataclass(frozen=True)
class RunReliability:
    """How far a run of the unit can be trusted: P(seen working | something bad), P(seen failing | all good)."""

    mask: float = DEFAULT_MASK
    misread: float = DEFAULT_MISREAD


NOT_LISTED_NAME = "something not on the list"


@dataclass(frozen=True)
class CaseNode:
    """What a name of the case stands for."""

    name: str
    what: str
    place: str
    suspect_id: int | None = None
    piece_id: int | None = None
    joined: float | None = None  # chance of being bad that it came with; None: as its place has it


@dataclass
class CaseLine:
    """One entry of the log with the steps that it became: from ``first`` up to, not including, ``end``."""

    entry: LogEntry
    words: str
    first: int
    end: int = 0
    remark: str = ""
    good: bool | None = None

    @property
    def counts(self) -> bool:
        """Tell whether it says anything about the suspects."""
        return self.end > self.first and not self.remark


@dataclass
class JobCase:
    """A job's log as a case, with what each name and each step stands for."""

    case: DiagnosisCase
    nodes: dict[str, CaseNode]
    lines: list[CaseLine]
    masks: dict[str, float]  # of the originals whose fault comes and goes
    run_of_loan: dict[int, int]  # number of the step, from 1, that a loan's result is
    node_of_piece: dict[int, str]
    fitted: dict[str, str]
    place_of: dict[int, str]  # by suspect
    original: dict[str, str]  # the original of each place, as it is by now


def build_case(
    name: str, suspects: Sequence[Any], start: SuspectPriors, log: Sequence[LogEntry], seeing: RunReliability,
    exclude_tests_of: int | None = None,
) -> JobCase:  # fmt: skip
    """Make the case of a job from its suspects (rows), their priors and its log.

    A suspect whose fault comes and goes has a mask of its own in every run but the complaint: the customer saw
    that one over weeks. Bench tests of the piece *without_tests_of* are left out: its standing counts them already.
    """
    maker = _CaseBuilder([_unique_name(suspect.name, ()) for suspect in suspects], suspects, seeing)
    for entry in log:
        if entry.kind != BENCH_TEST or entry.row.piece_id != exclude_tests_of:
            maker.take(entry)
    case = DiagnosisCase(tuple(zip(maker.places, start.suspects, strict=True)), start.leak, tuple(maker.steps), name)
    return JobCase(
        case, maker.nodes, maker.lines, maker.masks, maker.run_of_loan, maker.node_of_piece, maker.fitted,
        maker.place_of, maker.original,
    )  # fmt: skip


def _unique_name(name: str, taken: Sequence[str] | dict[str, CaseNode]) -> str:
    """Return a name for the case: short enough, and nobody else's."""
    short = name[: MAX_NAME_LENGTH - 20].strip()
    short = f"{short} (suspect)" if short.casefold() == LEAK else short
    number, free = 2, short
    while free in taken:
        free, number = f"{short} ({number})", number + 1
    return free


@dataclass
class _CaseBuilder:
    """The log as far as it was read: the steps it became, and what is in each place."""

    wanted: Sequence[str]
    suspects: Sequence[Any]
    seeing: RunReliability
    masks: dict[str, float] = field(default_factory=dict)  # by original, of those whose fault comes and goes
    nodes: dict[str, CaseNode] = field(default_factory=dict)
    steps: list[CaseStep] = field(default_factory=list)
    lines: list[CaseLine] = field(default_factory=list)
    places: list[str] = field(default_factory=list)
    place_of: dict[int, str] = field(default_factory=dict)  # by suspect
    fitted: dict[str, str] = field(default_factory=dict)  # what is in each place now
    original: dict[str, str] = field(default_factory=dict)  # the original of each place, as it is by now
    run_of_loan: dict[int, int] = field(default_factory=dict)
    node_of_piece: dict[int, str] = field(default_factory=dict)
    told: dict[int, bool] = field(default_factory=dict)  # how the unit last ran with a loan that was out

    def __post_init__(self) -> None:
        """Give each suspect its place."""
        self.nodes[LEAK] = CaseNode(NOT_LISTED_NAME, r.NOT_LISTED, NOT_LISTED_NAME)
        for one, name in zip(self.suspects, self.wanted, strict=True):
            place = _unique_name(name, self.nodes)
            self.nodes[place] = CaseNode(one.name, r.SUSPECT, one.name, one.id)
            self.places.append(place)
            self.place_of[one.id] = self.fitted[place] = self.original[place] = place
            if one.mask is not None:
                self.masks[place] = one.mask

    def take(self, entry: LogEntry) -> None:
        """Turn one entry into steps."""
        line = CaseLine(entry, "", len(self.steps))
        self.lines.append(line)
        if getattr(entry.row, "struck", None) is not None:
            line.words, line.remark = describe_observation(entry), f"struck out: {entry.row.struck_reason}"
        else:
            _ENTRY_HANDLERS[entry.kind](self, line)
        line.end = len(self.steps)

    # ---- each kind of entry ----------------------------------------------------------------------------

    def complaint(self, line: CaseLine) -> None:
        """Count the complaint as the first run, seen failing."""
        symptom = line.entry.row.symptom or "no symptom noted"
        line.words, line.good = f"The complaint: {symptom}.", False
        self.steps.append(RunStep(False, self.seeing.mask, self.seeing.misread))

    def swap(self, line: CaseLine) -> None:
        """Count the result of a loan, unless it was told already while the piece was out."""
        loan = line.entry.row
        line.words, line.good = describe_swap(loan), {WORKS_WITH_IT: True, STILL_FAILS: False}.get(loan.result)
        place = self._place_of_loan(loan)
        if place is None:
            line.remark = "left out: the job has no suspect that it stood in for"
            return
        if line.good is None:
            line.remark = "says nothing either way"
            return
        thing = self._spare(loan, place)
        if self._told_already(loan.id, line.good):
            line.remark = "told already, when the unit was run"
        else:
            self._run(line.good, {place: thing}, [loan.id])
        if loan.stayed:
            self._fit(place, thing)

    def swapped(self, line: CaseLine) -> None:
        """Count a run with one or more spares fitted that were out to the job."""
        line.words, line.good = describe_observation(line.entry), line.entry.row.works
        placed = [(loan, self._place_of_loan(loan)) for loan in line.entry.loans]
        swap = {place: self._spare(loan, place) for loan, place in placed if place is not None}
        if len(swap) < len(placed):
            line.remark = "left out: a piece of it stood in for no suspect"
            return
        self._run(bool(line.good), swap, [loan.id for loan, _ in placed])
        self.told.update({loan.id: bool(line.good) for loan, _ in placed})

    def test(self, line: CaseLine) -> None:
        """Count a bench test of a spare as a measurement of it."""
        proof = line.entry.row
        known = self.node_of_piece.get(proof.piece_id)
        said = "passed" if proof.passed else "failed"
        line.words, line.good = (
            f"{_piece_name(proof.piece)} {said} {proof.procedure.name} on the bench.",
            proof.passed,
        )
        if known is None:
            line.remark = "counted in what it was worth before it was swapped"
            return
        self.steps.append(MeasureStep(known, not proof.passed, proof.sensitivity, proof.specificity))

    def measured(self, line: CaseLine) -> None:
        """Count a measurement of the original in a place."""
        seen = line.entry.row
        line.words, line.good = describe_observation(line.entry), not seen.says_bad
        node = self.original[self.place_of[seen.suspect_id]]
        self.steps.append(MeasureStep(node, seen.says_bad, seen.sensitivity, seen.specificity))

    def new_part(self, line: CaseLine) -> None:
        """Fit a new part for good, and count the run with it."""
        seen = line.entry.row
        place = self.place_of[seen.suspect_id]
        line.words, line.good = describe_observation(line.entry), seen.works
        thing = self._join(f"new {seen.suspect.name}", r.NEW_PART, place, 1.0 - seen.p_good)
        self.steps.append(AddSpareStep(thing, seen.p_good))
        self._fit(place, thing)
        self._ran(seen)

    def repaired(self, line: CaseLine) -> None:
        """Let what is in a place change by a repair, and count the run after it."""
        seen = line.entry.row
        place = self.place_of[seen.suspect_id]
        line.words, line.good = describe_observation(line.entry), seen.works
        before = self.fitted[place]
        now = self._join(f"{before}, repaired", r.REPAIRED, place, None)
        self.steps.append(ChangeStep(now, before, seen.bad_if_good, seen.bad_if_bad))
        self.fitted[place] = now
        if self.original[place] == before:
            self.original[place] = now
        self._ran(seen)

    def put_back(self, line: CaseLine) -> None:
        """Put the original back into its place, and count the run with it (A-B-A)."""
        seen = line.entry.row
        place = self.place_of[seen.suspect_id]
        line.words, line.good = describe_observation(line.entry), seen.works
        self._fit(place, self.original[place])
        self._ran(seen)

    # ---- parts of them ---------------------------------------------------------------------------------

    def _place_of_loan(self, loan: Any) -> str | None:
        """Return where a lent piece was fitted: in its suspect's place, else that of the one of its part."""
        if loan.suspect_id is not None:
            return self.place_of.get(loan.suspect_id)
        alike = [suspect.id for suspect in self.suspects if suspect.part_id == loan.piece.part_id]
        return self.place_of[alike[0]] if len(alike) == 1 else None

    def _spare(self, loan: Any, place: str) -> str:
        known = self.node_of_piece.get(loan.piece_id)
        if known is None:
            known = self._join(_piece_name(loan.piece), r.SPARE, place, 1.0 - loan.p_good, loan.piece_id)
            self.node_of_piece[loan.piece_id] = known
            self.steps.append(AddSpareStep(known, loan.p_good))
        for other, thing in list(self.fitted.items()):
            if thing == known and other != place:  # it was taken out again without a word
                self._fit(other, self.original[other])
        return known

    def _join(self, name: str, what: str, place: str, joined: float | None, piece_id: int | None = None) -> str:
        key = _unique_name(name, self.nodes)
        here = self.nodes[place]
        self.nodes[key] = CaseNode(key, what, here.name, here.suspect_id, piece_id, joined)
        return key

    def _run(self, works: bool, swap: dict[str, str], loan_ids: Sequence[int]) -> None:
        changed = tuple((place, thing) for place, thing in swap.items() if self.fitted[place] != thing)
        own = tuple(self.masks.items())
        self.steps.append(RunStep(works, self.seeing.mask, self.seeing.misread, changed, own))
        self.run_of_loan.update(dict.fromkeys(loan_ids, len(self.steps)))

    def _ran(self, seen: Any) -> None:
        if seen.works is not None:
            self._run(seen.works, {}, ())

    def _told_already(self, loan_id: int, works: bool) -> bool:
        """Tell whether a loan's result is the run last told of it, with nothing done to the unit since."""
        since = self.steps[self.run_of_loan.get(loan_id, 0) :]
        return self.told.get(loan_id) == works and all(isinstance(one, FitStep) for one in since)

    def _fit(self, place: str, thing: str) -> None:
        if self.fitted[place] != thing:
            self.steps.append(FitStep(place, thing))
            self.fitted[place] = thing


_ENTRY_HANDLERS = {
    COMPLAINT: _CaseBuilder.complaint,
    SWAP_TEST: _CaseBuilder.swap,
    BENCH_TEST: _CaseBuilder.test,
    "measured": _CaseBuilder.measured,
    "swapped": _CaseBuilder.swapped,
    "new part": _CaseBuilder.new_part,
    "repaired": _CaseBuilder.repaired,
    "put back": _CaseBuilder.put_back,
}


# ---- in words --------------------------------------------------------------------------------------------


def _piece_name(piece: Any) -> str:
    return str(piece.shown_as)


def describe_swap(loan: Any) -> str:
    """Say the result of a loan: "C-07 in place of rear fan: works with it; it stays fitted."."""
    place = f" in place of {loan.suspect.name}" if loan.suspect_id else ""
    stays = "; it stays fitted" if loan.stayed else ""
    return f"{_piece_name(loan.piece)}{place}: {loan.result}{stays}."


def describe_observation(entry: LogEntry) -> str:
    """Say an observation: "rear fan measured: bad."."""
    seen = entry.row
    name = seen.suspect.name if seen.suspect_id else ""
    ran = {None: "", True: "; the unit works", False: "; the unit still fails"}[seen.works]
    if entry.kind == "measured":
        return f"{name} measured: {'bad' if seen.says_bad else 'good'}."
    if entry.kind == "swapped":
        spares = " and ".join(f"{_piece_name(o.piece)} for {o.suspect.name}" for o in entry.loans if o.suspect_id)
        return f"Run with {spares}{ran}."
    if entry.kind == "new part":
        return f"New {name} fitted{ran}."
    if entry.kind == "repaired":
        return f"{name} repaired{ran}."
    return f"The old {name} put back{ran}."
