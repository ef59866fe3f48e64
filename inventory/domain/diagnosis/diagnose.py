"""What the whole log of a job says about its suspects, about what is not on the list, and about every spare."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Any

from peewee import JOIN

from inventory.domain.common.errors import Conflict
from inventory.domain.common.shop import shop_config
from inventory.domain.common.validation import get_row
from inventory.domain.diagnosis import diagnosis_records as r
from inventory.domain.diagnosis.job_case import CaseLine, CaseNode, JobCase, RunReliability, build_case
from inventory.domain.diagnosis.past_causes import starting_priors
from inventory.domain.jobs import job_log
from inventory.domain.proof.loans import UNIT_WORKED
from inventory.reckoning.diagnosis.case import CaseStep, ChangeStep, DiagnosisCase, MeasureStep, RunStep, case_to_dict
from inventory.reckoning.diagnosis.posterior import ContradictionError, Diagnosis, chance_all_else_good, diagnose
from inventory.reckoning.proof.standing import chance_text
from inventory.store.tables import Job, Loan, Part, Suspect

MAX_NODES_FOR_FULL_LOG = 16  # nodes; with more, only the last line is weighed before and after, to save time
TIE_TOLERANCE = 0.005  # suspects closer than this to the likeliest are named with it
MAX_FAULT_SETS, MAX_TIED_NAMES = 4, 5


@dataclass(frozen=True)
class WeighedCase:
    """A job's case with its diagnosis, for further calculation."""

    job: Any
    suspects: tuple[Any, ...]
    job_case: JobCase
    diagnosis: Diagnosis
    priors: r.PriorsRecord


def weigh_case(job_id: int, until: datetime | None = None, exclude_tests_of: int | None = None) -> WeighedCase:
    """Work out what a job's log says, up to a moment (default all of it).

    Raises Conflict when no suspect is named, there is too much to weigh exactly, or the log contradicts itself.
    """
    job = get_row(Job, job_id, "job")
    suspects, (priors, priors_record) = _suspects_with_priors(job)
    job_case = build_case(
        f"Job {job.number}", suspects, priors, job_log.log_entries(job, until), run_reliability(), exclude_tests_of
    )
    return WeighedCase(job, suspects, job_case, _diagnose_case(job_case), priors_record)


def suspect_of_job(job: Job, suspect_id: int) -> Suspect:
    """Return a suspect (row) of a job; raise Conflict for that of another job."""
    suspect = get_row(Suspect, suspect_id, "suspect")
    if suspect.job_id != job.id:
        raise Conflict(f"{suspect.name} is a suspect of another job: choose one of job {job.number}.")
    return suspect


def run_reliability() -> RunReliability:
    """Return the shop's mask and misread chances."""
    config = shop_config()
    return RunReliability(config.mask, config.misread)


def _suspects_with_priors(job: Any) -> tuple[tuple[Any, ...], Any]:
    rows = Suspect.select(Suspect, Part).join(Part, JOIN.LEFT_OUTER).where(Suspect.job == job.id)
    suspects = tuple(rows.order_by(Suspect.id))
    if not suspects:
        raise Conflict(f"No suspect is named on job {job.number} yet: name what might be wrong.", reason="no_suspect")
    return suspects, starting_priors(job, suspects)


def _diagnose_case(job_case: JobCase) -> Diagnosis:
    try:
        return diagnose(job_case.case)
    except ContradictionError as contradiction:
        sentences = [line.words.rstrip(".") for line in job_case.lines if _contains_step(line, contradiction.steps)]
        sentence = (
            f"These observations contradict each other: {'; '.join(sentences)}. Strike out the one that is wrong."
        )
        evidence_ids = [
            line.entry.row.id
            for line in job_case.lines
            if _contains_step(line, contradiction.steps) and _is_observation(line)
        ]
        raise Conflict(sentence, reason="contradiction", evidence_ids=evidence_ids) from None
    except ValueError as error:
        raise Conflict(str(error), reason="too_many") from None


def _contains_step(line: CaseLine, steps: Iterable[int]) -> bool:
    return any(line.first < step <= line.end for step in steps)


def _is_observation(line: CaseLine) -> bool:
    return line.entry.kind not in (job_log.COMPLAINT, job_log.SWAP_TEST, job_log.BENCH_TEST)


# ---- the record ------------------------------------------------------------------------------------------


def diagnose_job(job_id: int) -> r.DiagnosisRecord:
    """Return what a job's log says: every chance now, before and at the start, and how each line moved them.

    Raises Conflict when no suspect is named, there is too much to weigh exactly, or the log contradicts itself.
    """
    return diagnosis_record(weigh_case(job_id))


def diagnosis_record(weighed: WeighedCase) -> r.DiagnosisRecord:
    """Return the record of a job that was weighed."""
    moments = _p_bad_history(weighed)
    last = moments[-2] if len(moments) > 1 else {}
    candidates = [_fault_candidate(weighed, name, last, moments[0]) for name in weighed.diagnosis.p_bad]
    likely = tuple(_fault_sets(weighed))
    suspects = [candidate for candidate in candidates if candidate.what in (r.SUSPECT, r.NOT_LISTED)]
    return r.DiagnosisRecord(
        job_id=weighed.job.id,
        sentence=_summary(suspects, likely, weighed),
        suspects=tuple(sorted(suspects, key=lambda candidate: -candidate.p_bad)),
        others=tuple(candidate for candidate in candidates if candidate.what not in (r.SUSPECT, r.NOT_LISTED)),
        likely=likely,
        p_evidence=weighed.diagnosis.p_evidence,
        priors=weighed.priors,
        log=tuple(_log_lines(weighed)),
    )


def _p_bad_history(weighed: WeighedCase) -> list[dict[str, float]]:
    """Return P(bad) of every node after the complaint, before the last counted line, and now."""
    counted = [line for line in weighed.job_case.lines if line.counts]
    moments = [counted[0], *counted[-2:-1], counted[-1]] if len(counted) > 1 else counted
    return [_p_bad_after(weighed, line.end) for line in moments]


def _p_bad_after(weighed: WeighedCase, steps: int) -> dict[str, float]:
    """Return P(bad) of every node after the first *steps* steps of the case."""
    return (
        weighed.diagnosis.p_bad
        if steps == len(weighed.job_case.case.steps)
        else _p_bad_of_prefix(weighed.job_case.case, steps)
    )


@lru_cache(maxsize=256)
def _p_bad_of_prefix(case: DiagnosisCase, steps: int) -> dict[str, float]:
    return diagnose(replace(case, steps=case.steps[:steps])).p_bad


def _fault_candidate(
    weighed: WeighedCase, name: str, before: dict[str, float], first: dict[str, float]
) -> r.FaultCandidate:
    node = weighed.job_case.nodes[name]
    return r.FaultCandidate(
        node.name, node.what, weighed.diagnosis.p_bad[name], before.get(name, node.joined), first.get(name),
        name in weighed.job_case.fitted.values(), node.place, node.suspect_id, node.piece_id,
    )  # fmt: skip


def _fault_sets(weighed: WeighedCase) -> Iterator[r.FaultSet]:
    for names, share in weighed.diagnosis.fault_sets[:MAX_FAULT_SETS]:
        yield r.FaultSet(tuple(weighed.job_case.nodes[name].name for name in names), share)


def _summary(things: Sequence[r.FaultCandidate], likely: Sequence[r.FaultSet], weighed: WeighedCase) -> str:
    top = max(thing.p_bad for thing in things)
    leading = [thing.name for thing in things if thing.p_bad > top - TIE_TOLERANCE]
    if not likely[0].names:
        return f"What is fitted now is most likely all good: {chance_text(likely[0].chance)}."
    if len(likely[0].names) == 1 and len(leading) > 1:
        who = _join_names(leading) if len(leading) <= MAX_TIED_NAMES else f"{len(leading)} suspects"
        return f"Nothing stands out: {who} are as likely as each other, {chance_text(top)} each."
    alone = " alone" if len(likely[0].names) == 1 else " together"
    return f"Most likely {_join_names(likely[0].names)}{alone}: {chance_text(likely[0].chance)}."


def _join_names(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _log_lines(weighed: WeighedCase) -> Iterator[r.DiagnosisLogLine]:
    all_of_them = len(weighed.diagnosis.p_bad) <= MAX_NODES_FOR_FULL_LOG
    last = max((index for index, line in enumerate(weighed.job_case.lines) if line.counts), default=0)
    steps = weighed.job_case.case.steps
    for index, line in enumerate(weighed.job_case.lines):
        shown = line.counts and (all_of_them or index == last)
        moved = tuple(_chance_changes(weighed, line)) if shown else ()
        repeated = _contains_step(line, weighed.diagnosis.repeats)
        still = _why_unmoved(line, steps[line.first : line.end], moved, weighed=shown, repeated=repeated)
        yield _log_line(line, moved, repeated=repeated, still=still)


def _why_unmoved(
    line: CaseLine, steps: Sequence[CaseStep], moved: Sequence[r.ChanceChange], *, weighed: bool, repeated: bool
) -> str:
    """Return why a line that counts moved no chance by a tenth of a per cent; empty when one moved."""
    if not line.counts or repeated or any(change.shows for change in moved):
        return ""
    if not weighed:
        return "Too much was seen on this job to say line by line what moved."
    if not any(isinstance(step, RunStep | MeasureStep) for step in steps):
        return "Nothing was seen of it yet: run the unit to learn more."
    return "No chance moved by 0.1 %: what was seen before said as much already."


def _log_line(line: CaseLine, moved: tuple[r.ChanceChange, ...], *, repeated: bool, still: str) -> r.DiagnosisLogLine:
    row, kind = line.entry.row, line.entry.kind
    return r.DiagnosisLogLine(
        at=line.entry.at,
        kind=kind,
        words=line.words,
        person=line.entry.person,
        counts=line.counts,
        remark=line.remark or ("the same run again: counted once" if repeated else ""),
        evidence_id=row.id if _is_observation(line) else None,
        loan_id=row.id if kind == job_log.SWAP_TEST else None,
        piece_id=row.piece_id if kind in (job_log.SWAP_TEST, job_log.BENCH_TEST) else None,
        good=line.good,
        struck_reason=row.struck_reason if _is_observation(line) and row.struck is not None else "",
        moved=moved,
        still=still,
    )


def _chance_changes(weighed: WeighedCase, line: CaseLine) -> Iterator[r.ChanceChange]:
    """Yield how one line moved each chance, the largest change first."""
    after = _p_bad_after(weighed, line.end)
    before = _p_bad_after(weighed, line.first) if line.first else {}
    moves = [_chance_change(weighed, name, before, chance) for name, chance in after.items()]
    yield from sorted(moves, key=lambda change: -abs(change.after - (change.before or 0.0)))


def _chance_change(weighed: WeighedCase, name: str, before: dict[str, float], after: float) -> r.ChanceChange:
    node = weighed.job_case.nodes[name]
    return r.ChanceChange(node.name, node.what, before.get(name, _initial_p_bad(weighed, node, before)), after)


def _initial_p_bad(weighed: WeighedCase, node: CaseNode, before: dict[str, float]) -> float | None:
    """Return the P(bad) with which a node joins: its own, or that of the node that was repaired."""
    if node.what != r.REPAIRED:
        return node.joined
    parents = {step.name: step.parent for step in weighed.job_case.case.steps if isinstance(step, ChangeStep)}
    return before.get(parents[node.name])


# ---- for others ------------------------------------------------------------------------------------------


def others_good(loan_id: int, result: str) -> float | None:
    """Return P(all else in the unit good | the rest of the job's log), for a swap test that ends with *result*.

    None when it says nothing, repeats a run, or the log does not tell (no suspect, a contradiction, too much).
    """
    if result not in UNIT_WORKED:
        return None
    loan = get_row(Loan, loan_id, "loan")
    job = get_row(Job, loan.job_id, "job")
    try:
        suspects, (priors, _) = _suspects_with_priors(job)
        log = job_log.log_entries(job)
        pending = job_log.preview_loan_end(loan_id, result)
        job_case = build_case("", suspects, priors, [*log, pending], run_reliability())
        return chance_all_else_good(
            job_case.case, job_case.run_of_loan[loan_id], job_case.node_of_piece[loan.piece_id]
        )
    except (Conflict, KeyError, ValueError):
        return None


def case_file(job_id: int) -> dict[str, Any]:
    """Return a job's log as a case in the form that ``benchproof diagnose`` reads, for what-if questions."""
    job = get_row(Job, job_id, "job")
    suspects, (priors, _) = _suspects_with_priors(job)
    return case_to_dict(
        build_case(f"Job {job.number}", suspects, priors, job_log.log_entries(job), run_reliability()).case
    )
