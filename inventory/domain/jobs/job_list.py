"""The list of jobs as a bench reads it: those to work on first, then those that wait, then those done."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.common.records import JobRecord
from inventory.domain.common.validation import one_of
from inventory.domain.jobs.jobs import STATUSES, jobs

MOST_OPEN = 200
CLOSED_AT_ONCE = 25


@dataclass(frozen=True)
class JobGroup:
    """Jobs of one status, newest first; ``next`` is the mark from which more follow."""

    status: str
    jobs: tuple[JobRecord, ...]
    next: str | None

    @property
    def number(self) -> int:
        """How many are shown."""
        return len(self.jobs)


def job_list(find: str = "", status: str = "", after: str | None = None) -> list[JobGroup]:
    """Return the jobs that have the words of *find*, by status; only those of *status* when one is given."""
    if status:
        return [_group(one_of(status, "status", STATUSES), find, after, CLOSED_AT_ONCE * 2)]
    return [
        _group(one, find, after if one == "closed" else None, CLOSED_AT_ONCE if one == "closed" else MOST_OPEN)
        for one in STATUSES
    ]


def _group(status: str, find: str, after: str | None, limit: int) -> JobGroup:
    page = jobs(find=find, status=status, after=after, limit=limit)
    return JobGroup(status, tuple(page.items), page.next)
