"""The list of jobs by status: open, then waiting, then closed."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.common.records import JOB_STATUSES, JobRecord
from inventory.domain.common.validation import validated_choice
from inventory.domain.jobs.jobs import jobs

MAX_OPEN = 200
CLOSED_PAGE_SIZE = 25


@dataclass(frozen=True)
class JobGroup:
    """Jobs of one status, newest first; ``next`` is the cursor of the next page."""

    status: str
    jobs: tuple[JobRecord, ...]
    next: str | None

    @property
    def number(self) -> int:
        """The number of jobs shown."""
        return len(self.jobs)


def job_list(find: str = "", status: str = "", after: str | None = None) -> list[JobGroup]:
    """Return the jobs that have the words of *find*, by status, or only those of one *status*."""
    if status:
        return [_group(validated_choice(status, "status", JOB_STATUSES), find, after, CLOSED_PAGE_SIZE * 2)]
    return [
        _group(group, find, after, CLOSED_PAGE_SIZE) if group == "closed" else _group(group, find, None, MAX_OPEN)
        for group in JOB_STATUSES
    ]


def _group(status: str, find: str, after: str | None, limit: int) -> JobGroup:
    page = jobs(find=find, status=status, after=after, limit=limit)
    return JobGroup(status, tuple(page.items), page.next)
