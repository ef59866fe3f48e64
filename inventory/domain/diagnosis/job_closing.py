"""Closing a job: what it was, what its whole log says of the spares that were on it, and what is left over.

While the job is open, each swap counts by itself in a spare's standing. Once it is closed, all that the job saw
counts instead: a spare that "still failed" beside the real fault is cleared of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, NotFound
from inventory.domain.common.records import JobRecord
from inventory.domain.common.shop import ShopConfig, shop_config
from inventory.domain.common.validation import get_row
from inventory.domain.diagnosis.diagnose import WeighedCase, weigh_case
from inventory.domain.diagnosis.diagnosis_records import CarriedBackRecord, ClosingRecord
from inventory.domain.jobs import jobs
from inventory.domain.proof.loans import CANCELLED
from inventory.reckoning.diagnosis.case import LEAK, CaseStep, ChangeStep, DiagnosisCase, MeasureStep, RunStep
from inventory.reckoning.diagnosis.posterior import ContradictionError, diagnose
from inventory.store import ledger
from inventory.store.queries import filter_by
from inventory.store.tables import JobClosing, Loan, Person, PieceOutcome, Suspect

STATED_ACCURACY = 0.95  # assumed: chance that what is said when a job is closed is right


def close_with_causes(
    job_id: int, *, was: Iterable[int] = (), something_else: bool = False, found: str = "", by: int | None = None,
    version: int | None = None,
) -> ClosingRecord:  # fmt: skip
    """Close a job: it *was* these suspects (their ids), *something_else*, or nobody knows; *found* in words.

    Suspects that are not named are cleared, unless nothing is said at all. What the whole log says of each spare
    is carried back to its standing. Raises Conflict while a piece is out, or for a suspect of another job.
    """
    with ledger.ledger_transaction():
        _set_verdicts(job_id, list(dict.fromkeys(was)), something_else)
        closed = jobs.close_job(job_id, found, version)
        closing_row = JobClosing.create(job=job_id, at=clock.now(), person=by, something_else=bool(something_else))
        not_carried = _carry_back(closing_row)
        return _closing_record(closed, closing_row, not_carried)


def _set_verdicts(job_id: int, was: Sequence[int], something_else: bool) -> None:
    named = {suspect_id.id: suspect_id for suspect_id in filter_by(Suspect, job=job_id)}
    for suspect_id in was:
        if suspect_id not in named:
            suspect = get_row(Suspect, suspect_id, "suspect")
            raise Conflict(
                f"{suspect.name} is a suspect of another job: choose those of this one.", reason="other_job"
            )
    if was or something_else:
        for key in named:
            jobs.set_verdict(key, "bad" if key in was else "good")


def closing(job_id: int) -> ClosingRecord:
    """Return what a job turned out to be when it was closed last; raise NotFound if it never was."""
    record = last_closing(job_id)
    if record is None:
        raise NotFound(f"Job {jobs.job(job_id).number} was never closed with what it was.")
    return record


def last_closing(job_id: int) -> ClosingRecord | None:
    """Return what a job turned out to be when it was closed last, or None if it never was."""
    closed = jobs.job(job_id)
    row = JobClosing.select().where(JobClosing.job == job_id).order_by(JobClosing.id.desc()).first()
    return None if row is None else _closing_record(closed, row, "")


def _closing_record(closed: JobRecord, row: Any, not_carried: str) -> ClosingRecord:
    was = filter_by(Suspect, job=closed.id, verdict="bad")
    person = Person.get_or_none(Person.id == row.person_id)
    carried_back = tuple(
        CarriedBackRecord(outcome.piece_id, outcome.piece.shown_as, outcome.p_before, outcome.p_after)
        for outcome in filter_by(PieceOutcome, closing=row.id)
    )
    return ClosingRecord(
        closed, row.at, person.shown_as if person else "", tuple(suspect.name for suspect in was), row.something_else,
        carried_back, not_carried,
    )  # fmt: skip


# ---- carrying back ---------------------------------------------------------------------------------------


def _carry_back(closing: Any) -> str:
    """Store P(good) of each spare by the whole log; return why it cannot be worked out, or an empty text."""
    p_before = _p_good_when_taken(closing.job_id)
    if not p_before:
        return ""
    try:
        for piece_id, p_good in p_before.items():
            p_after = _p_good_after(closing, piece_id)
            if p_after is not None and 0.0 < p_good < 1.0:
                PieceOutcome.create(closing=closing.id, piece=piece_id, p_before=p_good, p_after=p_after)
    except Conflict as conflict:
        return conflict.sentence
    except ContradictionError:
        return "What the job is said to have been contradicts its log: the spares keep what single swaps say."
    except ValueError as error:
        return str(error)
    return ""


def _p_good_when_taken(job_id: int) -> dict[int, float]:
    """Return by piece its P(good) when it was first taken for a job."""
    first: dict[int, float] = {}
    for loan in sorted(filter_by(Loan, job=job_id), key=lambda row: row.taken):
        if loan.result != CANCELLED:
            first.setdefault(loan.piece_id, loan.p_good)
    return first


def _p_good_after(closing: Any, piece_id: int) -> float | None:
    """Return P(good) of a spare by the whole log and what the job was; None if no run with it counted.

    Its own bench tests are left out: its standing weighs them itself.
    """
    weighed = weigh_case(closing.job_id, exclude_tests_of=piece_id)
    node = weighed.job_case.node_of_piece.get(piece_id)
    if node is None:
        return None
    return 1.0 - diagnose(_case_with_outcome(weighed, closing, shop_config())).p_bad[node]


def _case_with_outcome(weighed: WeighedCase, closing: Any, config: ShopConfig) -> DiagnosisCase:
    """Add to a job's case how it ended: what it was, that this was put right, and that the unit works."""
    was = [suspect.id for suspect in filter_by(Suspect, job=closing.job_id, verdict="bad")]
    places = [name for name in weighed.job_case.case.places if weighed.job_case.nodes[name].suspect_id in was]
    steps: list[CaseStep] = [MeasureStep(place, True, STATED_ACCURACY, STATED_ACCURACY) for place in places]
    steps += [
        ChangeStep(f"{place}, put right", place, config.repair_spoils, config.repair_fails)
        for place in places
        if weighed.job_case.fitted[place] == place
    ]
    if closing.something_else:
        steps.append(MeasureStep(LEAK, True, STATED_ACCURACY, STATED_ACCURACY))
    elif was:
        steps.append(RunStep(True, config.mask, config.misread))
    return replace(weighed.job_case.case, steps=(*weighed.job_case.case.steps, *steps))
