"""Turns the log of a job into a diagnosis case: suspects with priors, and what was seen step by step.

The case is built anew from the log each time. A spare joins with the P(good) that it had when it was first taken for
the job. Originals, spares and new parts that have been in the same place are nodes of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.diagnosis import diagnosis_records as r
from inventory.domain.jobs.job_log import BENCH_TEST, COMPLAINT, SWAP_TEST, LogEntry
from inventory.domain.proof.loans import UNIT_WORKED
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

NOT_LISTED_NAME = "something not on the list"


@dataclass(frozen=True)
class RunReliability:
    """How far a run of the unit can be trusted: P(seen working | something bad), P(seen failing | all good)."""

    mask: float = DEFAULT_MASK
    misread: float = DEFAULT_MISREAD


@dataclass(frozen=True)
class CaseNode:
    """What a name of the case stands for."""

    name: str
    what: str
    place: str
    suspect_id: int | None = None
    piece_id: int | None = None
    joined: float | None = None  # P(bad) that it came with; None: that of its place


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
    name: str, suspects: Sequence[Any], priors: SuspectPriors, log: Sequence[LogEntry], reliability: RunReliability,
    exclude_tests_of: int | None = None,
) -> JobCase:  # fmt: skip
    """Build the case of a job from its suspects (rows), their priors and its log.

    A suspect whose fault comes and goes has a mask of its own in every run but the complaint: the customer saw
    that one over weeks. Bench tests of the piece *exclude_tests_of* are left out: its standing counts them already.
    """
    builder = _CaseBuilder([_unique_name(suspect.name, ()) for suspect in suspects], suspects, reliability)
    for entry in log:
        if entry.kind != BENCH_TEST or entry.row.piece_id != exclude_tests_of:
            builder.add_entry(entry)
    case = DiagnosisCase(
        tuple(zip(builder.places, priors.suspects, strict=True)), priors.leak, tuple(builder.steps), name
    )
    return JobCase(
        case, builder.nodes, builder.lines, builder.masks, builder.run_of_loan, builder.node_of_piece, builder.fitted,
        builder.place_of, builder.original,
    )  # fmt: skip


def _unique_name(name: str, taken: Sequence[str] | dict[str, CaseNode]) -> str:
    """Return a name for the case that is short enough, and not taken."""
    short = name[: MAX_NAME_LENGTH - 20].strip()
    short = f"{short} (suspect)" if short.casefold() == LEAK else short
    number, free = 2, short
    while free in taken:
        free, number = f"{short} ({number})", number + 1
    return free


def only_suspect_of_part(suspects: Sequence[Any], part_id: int) -> int | None:
    """Return the suspect that a piece lent for none in particular stands in for: the only one of its part."""
    same_part = [int(suspect.id) for suspect in suspects if suspect.part_id == part_id]
    return same_part[0] if len(same_part) == 1 else None


@dataclass
class _CaseBuilder:
    """Turns the log into steps, entry by entry, and keeps track of what is in each place."""

    names: Sequence[str]
    suspects: Sequence[Any]
    reliability: RunReliability
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
    last_result: dict[int, bool] = field(
        default_factory=dict
    )  # by loan: whether the unit worked in its last logged run

    def __post_init__(self) -> None:
        """Give each suspect its place."""
        self.nodes[LEAK] = CaseNode(NOT_LISTED_NAME, r.NOT_LISTED, NOT_LISTED_NAME)
        for suspect, name in zip(self.suspects, self.names, strict=True):
            place = _unique_name(name, self.nodes)
            self.nodes[place] = CaseNode(suspect.name, r.SUSPECT, suspect.name, suspect.id)
            self.places.append(place)
            self.place_of[suspect.id] = self.fitted[place] = self.original[place] = place
            if suspect.mask is not None:
                self.masks[place] = suspect.mask

    def add_entry(self, entry: LogEntry) -> None:
        """Add the steps of one entry."""
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
        self.steps.append(RunStep(False, self.reliability.mask, self.reliability.misread))

    def swap(self, line: CaseLine) -> None:
        """Count the result of a loan, unless the run was logged already while the piece was out."""
        loan = line.entry.row
        line.words, line.good = describe_swap(loan), UNIT_WORKED.get(loan.result)
        place = self._place_of_loan(loan)
        if place is None:
            line.remark = "left out: the job has no suspect that it stood in for"
            return
        if line.good is None:
            line.remark = "says nothing either way"
            return
        node = self._spare_node(loan, place)
        if self._is_counted(loan.id, line.good):
            line.remark = "told already, when the unit was run"
        else:
            self._run(line.good, {place: node}, [loan.id])
        if loan.stayed:
            self._fit(place, node)

    def swapped(self, line: CaseLine) -> None:
        """Count a run with one or more spares fitted that were out to the job."""
        line.words, line.good = describe_observation(line.entry), line.entry.row.works
        placed = [(loan, self._place_of_loan(loan)) for loan in line.entry.loans]
        swap = {place: self._spare_node(loan, place) for loan, place in placed if place is not None}
        if len(swap) < len(placed):
            line.remark = "left out: a piece of it stood in for no suspect"
            return
        self._run(bool(line.good), swap, [loan.id for loan, _ in placed])
        self.last_result.update({loan.id: bool(line.good) for loan, _ in placed})

    def test(self, line: CaseLine) -> None:
        """Count a bench test of a spare as a measurement of it."""
        proof = line.entry.row
        node = self.node_of_piece.get(proof.piece_id)
        result = "passed" if proof.passed else "failed"
        line.words, line.good = (
            f"{_piece_name(proof.piece)} {result} {proof.procedure.name} on the bench.",
            proof.passed,
        )
        if node is None:
            line.remark = "counted in what it was worth before it was swapped"
            return
        self.steps.append(MeasureStep(node, not proof.passed, proof.sensitivity, proof.specificity))

    def measured(self, line: CaseLine) -> None:
        """Count a measurement of the original in a place."""
        row = line.entry.row
        line.words, line.good = describe_observation(line.entry), not row.says_bad
        node = self.original[self.place_of[row.suspect_id]]
        self.steps.append(MeasureStep(node, row.says_bad, row.sensitivity, row.specificity))

    def new_part(self, line: CaseLine) -> None:
        """Fit a new part for good, and count the run with it."""
        row = line.entry.row
        place = self.place_of[row.suspect_id]
        line.words, line.good = describe_observation(line.entry), row.works
        node = self._add_node(f"new {row.suspect.name}", r.NEW_PART, place, 1.0 - row.p_good)
        self.steps.append(AddSpareStep(node, row.p_good))
        self._fit(place, node)
        self._run_as_seen(row)

    def repaired(self, line: CaseLine) -> None:
        """Let what is in a place change by a repair, and count the run after it."""
        row = line.entry.row
        place = self.place_of[row.suspect_id]
        line.words, line.good = describe_observation(line.entry), row.works
        before = self.fitted[place]
        after = self._add_node(f"{before}, repaired", r.REPAIRED, place, None)
        self.steps.append(ChangeStep(after, before, row.bad_if_good, row.bad_if_bad))
        self.fitted[place] = after
        if self.original[place] == before:
            self.original[place] = after
        self._run_as_seen(row)

    def put_back(self, line: CaseLine) -> None:
        """Put the original back into its place, and count the run with it (A-B-A)."""
        row = line.entry.row
        place = self.place_of[row.suspect_id]
        line.words, line.good = describe_observation(line.entry), row.works
        self._fit(place, self.original[place])
        self._run_as_seen(row)

    # ---- shared by them --------------------------------------------------------------------------------

    def _place_of_loan(self, loan: Any) -> str | None:
        """Return where a lent piece was fitted: in its suspect's place, else that of the one of its part."""
        if loan.suspect_id is not None:
            return self.place_of.get(loan.suspect_id)
        suspect_id = only_suspect_of_part(self.suspects, loan.piece.part_id)
        return None if suspect_id is None else self.place_of[suspect_id]

    def _spare_node(self, loan: Any, place: str) -> str:
        node = self.node_of_piece.get(loan.piece_id)
        if node is None:
            node = self._add_node(_piece_name(loan.piece), r.SPARE, place, 1.0 - loan.p_good, loan.piece_id)
            self.node_of_piece[loan.piece_id] = node
            self.steps.append(AddSpareStep(node, loan.p_good))
        for other_place, fitted_node in list(self.fitted.items()):
            if fitted_node == node and other_place != place:  # it was taken out again, which was not logged
                self._fit(other_place, self.original[other_place])
        return node

    def _add_node(self, name: str, what: str, place: str, joined: float | None, piece_id: int | None = None) -> str:
        node = _unique_name(name, self.nodes)
        at_place = self.nodes[place]
        self.nodes[node] = CaseNode(node, what, at_place.name, at_place.suspect_id, piece_id, joined)
        return node

    def _run(self, works: bool, swap: dict[str, str], loan_ids: Sequence[int]) -> None:
        changed = tuple((place, node) for place, node in swap.items() if self.fitted[place] != node)
        masks = tuple(self.masks.items())
        self.steps.append(RunStep(works, self.reliability.mask, self.reliability.misread, changed, masks))
        self.run_of_loan.update(dict.fromkeys(loan_ids, len(self.steps)))

    def _run_as_seen(self, row: Any) -> None:
        if row.works is not None:
            self._run(row.works, {}, ())

    def _is_counted(self, loan_id: int, works: bool) -> bool:
        """Tell whether a loan's result is its last logged run, with nothing done to the unit since."""
        since = self.steps[self.run_of_loan.get(loan_id, 0) :]
        return self.last_result.get(loan_id) == works and all(isinstance(step, FitStep) for step in since)

    def _fit(self, place: str, node: str) -> None:
        if self.fitted[place] != node:
            self.steps.append(FitStep(place, node))
            self.fitted[place] = node


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
    stayed = "; it stays fitted" if loan.stayed else ""
    return f"{_piece_name(loan.piece)}{place}: {loan.result}{stayed}."


def describe_observation(entry: LogEntry) -> str:
    """Say an observation: "rear fan measured: bad."."""
    row = entry.row
    name = row.suspect.name if row.suspect_id else ""
    outcome = {None: "", True: "; the unit works", False: "; the unit still fails"}[row.works]
    if entry.kind == "measured":
        return f"{name} measured: {'bad' if row.says_bad else 'good'}."
    if entry.kind == "swapped":
        spares = " and ".join(f"{_piece_name(o.piece)} for {o.suspect.name}" for o in entry.loans if o.suspect_id)
        return f"Run with {spares}{outcome}."
    if entry.kind == "new part":
        return f"New {name} fitted{outcome}."
    if entry.kind == "repaired":
        return f"{name} repaired{outcome}."
    return f"The old {name} put back{outcome}."
