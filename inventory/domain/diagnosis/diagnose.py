"""What the whole log of a job says about its suspects, about what is not on the list, and about every spare."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Any

from peewee import JOIN

from inventory.domain.common.errors import Conflict
from inventory.domain.common.shop import shop
from inventory.domain.common.validation import row
from inventory.domain.diagnosis import diagnosis_records as r
from inventory.domain.diagnosis.job_case import FAILS, WORKS, JobCase, Line, Node, Seeing, case_of
from inventory.domain.diagnosis.past_causes import start
from inventory.domain.jobs import job_log
from inventory.reckoning.diagnosis.case import Case, Later, Measure, Run, Step, case_as_dict
from inventory.reckoning.diagnosis.posterior import ContradictionError, Diagnosis, all_else_good, diagnose
from inventory.reckoning.proof.standing import percent
from inventory.store.tables import Job, Loan, Part, Suspect

EVERY_LINE_UP_TO = 16  # nodes; beyond, only the last line is weighed before and after, to stay quick
AS_LIKELY = 0.005  # suspects closer than this to the likeliest are named with it
MOST_SETS, MOST_NAMED = 4, 5


@dataclass(frozen=True)
class Weighed:
    """A job's case with what it says, for those who go on reckoning with it."""

    job: Any
    suspects: tuple[Any, ...]
    made: JobCase
    said: Diagnosis
    priors: r.PriorsRecord


def weigh(job_id: int, until: datetime | None = None, without_tests_of: int | None = None) -> Weighed:
    """Work out what a job's log says, up to a moment (default all of it).

    Raises Conflict when no suspect is named, there is too much to weigh exactly, or the log contradicts itself.
    """
    job = row(Job, job_id, "job")
    suspects, (priors, told) = _suspects(job)
    made = case_of(f"Job {job.number}", suspects, priors, job_log.entries(job, until), seeing(), without_tests_of)
    return Weighed(job, suspects, made, _said(made), told)


def seeing() -> Seeing:
    """Return how far runs are trusted in this shop."""
    own = shop()
    return Seeing(own.mask, own.misread)


def _suspects(job: Any) -> tuple[tuple[Any, ...], Any]:
    rows = Suspect.select(Suspect, Part).join(Part, JOIN.LEFT_OUTER).where(Suspect.job == job.id)
    found = tuple(rows.order_by(Suspect.id))
    if not found:
        raise Conflict(f"No suspect is named on job {job.number} yet: name what might be wrong.", reason="no_suspect")
    return found, start(job, found)


def _said(made: JobCase) -> Diagnosis:
    try:
        return diagnose(made.case)
    except ContradictionError as clash:
        said = [line.words.rstrip(".") for line in made.lines if _holds_any(line, clash.steps)]
        sentence = f"These observations contradict each other: {'; '.join(said)}. Strike out the one that is wrong."
        rows = [line.entry.row.id for line in made.lines if _holds_any(line, clash.steps) and _is_observed(line)]
        raise Conflict(sentence, reason="contradiction", evidence_ids=rows) from None
    except ValueError as too_many:
        raise Conflict(str(too_many), reason="too_many") from None


def _holds_any(line: Line, steps: Iterable[int]) -> bool:
    return any(line.first < step <= line.end for step in steps)


def _is_observed(line: Line) -> bool:
    return line.entry.kind not in (job_log.COMPLAINT, job_log.SWAP, job_log.TEST)


# ---- the record ------------------------------------------------------------------------------------------


def diagnosis(job_id: int) -> r.DiagnosisRecord:
    """Return what a job's log says: every chance now, before and at the start, and how each line moved them.

    Raises Conflict when no suspect is named, there is too much to weigh exactly, or the log contradicts itself.
    """
    return record_of(weigh(job_id))


def record_of(found: Weighed) -> r.DiagnosisRecord:
    """Return the record of a job that was weighed."""
    moments = _moments(found)
    last = moments[-2] if len(moments) > 1 else {}
    things = [_thing(found, name, last, moments[0]) for name in found.said.p_bad]
    likely = tuple(_fault_sets(found))
    mine = [one for one in things if one.what in (r.SUSPECT, r.ELSEWHERE)]
    return r.DiagnosisRecord(
        job_id=found.job.id,
        sentence=_sentence(mine, likely, found),
        suspects=tuple(sorted(mine, key=lambda one: -one.p_bad)),
        others=tuple(one for one in things if one.what not in (r.SUSPECT, r.ELSEWHERE)),
        likely=likely,
        p_evidence=found.said.p_evidence,
        priors=found.priors,
        log=tuple(_log_lines(found)),
    )


def _moments(found: Weighed) -> list[dict[str, float]]:
    """Return P(bad) of every node after the complaint, before the last counted line, and now."""
    counted = [line for line in found.made.lines if line.counts]
    wanted = [counted[0], *counted[-2:-1], counted[-1]] if len(counted) > 1 else counted
    return [_at(found, line.end) for line in wanted]


def _at(found: Weighed, steps: int) -> dict[str, float]:
    """Return P(bad) of every node that has joined by so many steps."""
    return found.said.p_bad if steps == len(found.made.case.steps) else _p_bad(found.made.case, steps)


@lru_cache(maxsize=256)
def _p_bad(case: Case, steps: int) -> dict[str, float]:
    return diagnose(replace(case, steps=case.steps[:steps])).p_bad


def _thing(found: Weighed, name: str, before: dict[str, float], first: dict[str, float]) -> r.Thing:
    node = found.made.nodes[name]
    return r.Thing(
        node.name, node.what, found.said.p_bad[name], before.get(name, node.joined), first.get(name),
        name in found.made.fitted.values(), node.place, node.suspect_id, node.piece_id,
    )  # fmt: skip


def _fault_sets(found: Weighed) -> Iterator[r.FaultSet]:
    for names, share in found.said.fault_sets[:MOST_SETS]:
        yield r.FaultSet(tuple(found.made.nodes[name].name for name in names), share)


def _sentence(things: Sequence[r.Thing], likely: Sequence[r.FaultSet], found: Weighed) -> str:
    top = max(one.p_bad for one in things)
    leading = [one.name for one in things if one.p_bad > top - AS_LIKELY]
    if not likely[0].names:
        return f"What is fitted now is most likely all good: {percent(likely[0].chance)}."
    if len(likely[0].names) == 1 and len(leading) > 1:
        who = _listed(leading) if len(leading) <= MOST_NAMED else f"{len(leading)} suspects"
        return f"Nothing stands out: {who} are as likely as each other, {percent(top)} each."
    alone = " alone" if len(likely[0].names) == 1 else " together"
    return f"Most likely {_listed(likely[0].names)}{alone}: {percent(likely[0].chance)}."


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _log_lines(found: Weighed) -> Iterator[r.LogLine]:
    all_of_them = len(found.said.p_bad) <= EVERY_LINE_UP_TO
    last = max((index for index, line in enumerate(found.made.lines) if line.counts), default=0)
    steps = found.made.case.steps
    for index, line in enumerate(found.made.lines):
        weighed = line.counts and (all_of_them or index == last)
        moved = tuple(_moved(found, line)) if weighed else ()
        repeated = _holds_any(line, found.said.repeats)
        still = _still(line, steps[line.first : line.end], moved, weighed=weighed, repeated=repeated)
        yield _log_line(line, moved, repeated=repeated, still=still)


def _still(line: Line, steps: Sequence[Step], moved: Sequence[r.Moved], *, weighed: bool, repeated: bool) -> str:
    """Say why a line that counts moved no chance by as much as is shown; empty when one did."""
    if not line.counts or repeated or any(one.shows for one in moved):
        return ""
    if not weighed:
        return "Too much was seen on this job to say line by line what moved."
    if not any(isinstance(step, Run | Measure) for step in steps):
        return "Nothing was seen of it yet: run the unit to learn more."
    return "No chance moved by 0.1 %: what was seen before said as much already."


def _log_line(line: Line, moved: tuple[r.Moved, ...], *, repeated: bool, still: str) -> r.LogLine:
    seen, kind = line.entry.row, line.entry.kind
    return r.LogLine(
        at=line.entry.at, kind=kind, words=line.words, person=line.entry.person, counts=line.counts,
        remark=line.remark or ("the same run again: counted once" if repeated else ""),
        evidence_id=seen.id if _is_observed(line) else None, loan_id=seen.id if kind == job_log.SWAP else None,
        piece_id=seen.piece_id if kind in (job_log.SWAP, job_log.TEST) else None, good=line.good,
        struck_reason=seen.struck_reason if _is_observed(line) and seen.struck is not None else "", moved=moved,
        still=still,
    )  # fmt: skip


def _moved(found: Weighed, line: Line) -> Iterator[r.Moved]:
    """Say how one line moved each chance, the most moved first."""
    after = _at(found, line.end)
    before = _at(found, line.first) if line.first else {}
    moves = [_move(found, name, before, chance) for name, chance in after.items()]
    yield from sorted(moves, key=lambda one: -abs(one.after - (one.before or 0.0)))


def _move(found: Weighed, name: str, before: dict[str, float], after: float) -> r.Moved:
    node = found.made.nodes[name]
    return r.Moved(node.name, node.what, before.get(name, _joined(found, node, before)), after)


def _joined(found: Weighed, node: Node, before: dict[str, float]) -> float | None:
    """Return what a newcomer came with: its own chance, or that of what was there before it was repaired."""
    if node.what != r.REPAIRED:
        return node.joined
    parents = {step.name: step.parent for step in found.made.case.steps if isinstance(step, Later)}
    return before.get(parents[node.name])


# ---- for others ------------------------------------------------------------------------------------------


def others_good(loan_id: int, result: str) -> float | None:
    """Return P(all else in the unit good | the rest of the job's log), for a swap test that ends with *result*.

    None when it says nothing, repeats a run, or the log does not tell (no suspect, a contradiction, too much).
    """
    if result not in (WORKS, FAILS):
        return None
    loan = row(Loan, loan_id, "loan")
    job = row(Job, loan.job_id, "job")
    try:
        suspects, (priors, _) = _suspects(job)
        log = job_log.entries(job)
        pending = job_log.ending(loan_id, result)
        made = case_of("", suspects, priors, [*log, pending], seeing())
        return all_else_good(made.case, made.run_of_loan[loan_id], made.node_of_piece[loan.piece_id])
    except (Conflict, KeyError, ValueError):
        return None


def case_file(job_id: int) -> dict[str, Any]:
    """Return a job's log as a case in the form that ``benchproof diagnose`` reads, for a what-if elsewhere."""
    job = row(Job, job_id, "job")
    suspects, (priors, _) = _suspects(job)
    return case_as_dict(case_of(f"Job {job.number}", suspects, priors, job_log.entries(job), seeing()).case)
