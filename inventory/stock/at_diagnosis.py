"""At a job's diagnosis: what might be wrong, what to do next, what is left over, gathered for the job's page."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.stock import jobs, learn, left_over, next_step
from inventory.stock.diagnose import Weighed, record_of, weigh
from inventory.stock.past_causes import Suggestion, suggested
from inventory.stock.records import JobRecord
from inventory.stock.records_diagnosis import (
    ClosingRecord,
    DiagnosisRecord,
    LogLine,
    Moved,
    NextStepsRecord,
    Unneeded,
)
from inventory.stock.refusals import Conflict

MOST_MOVED = 5
LEAST_MOVED = 0.0005  # a chance that moved by less is not worth a line


@dataclass(frozen=True)
class AtDiagnosis:
    """What is known of what is wrong in a job; without a diagnosis, ``cannot`` says why there is none."""

    said: DiagnosisRecord | None
    cannot: str
    clash: tuple[int, ...]  # observations of which one must be struck out
    next: NextStepsRecord | None
    suggested: tuple[Suggestion, ...]
    unneeded: tuple[Unneeded, ...]
    closing: ClosingRecord | None

    @property
    def log(self) -> tuple[LogLine, ...]:
        """What was seen, newest first, the complaint left out."""
        return () if self.said is None else tuple(reversed(self.said.log[1:]))


def at_diagnosis(job: JobRecord) -> AtDiagnosis:
    """Gather what the log of a job says, whatever state it is in."""
    closed = job.status == "closed"
    found, refused = _weighed(job.id)
    return AtDiagnosis(
        said=record_of(found) if found else None,
        cannot=refused.sentence if refused else "",
        clash=tuple(refused.more.get("evidence_ids", ())) if refused else (),
        next=next_step.steps_for(found) if found and not closed else None,
        suggested=() if closed else tuple(suggested(job.id)),
        unneeded=tuple(left_over.unneeded(job.id)),
        closing=learn.last_closing(job.id) if closed else None,
    )


def _weighed(job_id: int) -> tuple[Weighed | None, Conflict | None]:
    try:
        return weigh(job_id), None
    except Conflict as refused:
        return None, refused


def moved_by_loan(job_id: int, loan_id: int) -> tuple[Moved, ...]:
    """Return how a swap test's result moved the chances of its job, the most moved first; nothing when closed."""
    if jobs.job(job_id).status == "closed":
        return ()
    found, _ = _weighed(job_id)
    lines = record_of(found).log if found else ()
    moved = next((one.moved for one in lines if one.loan_id == loan_id), ())
    return tuple(one for one in moved if abs(one.after - (one.before or 0.0)) >= LEAST_MOVED)[:MOST_MOVED]
