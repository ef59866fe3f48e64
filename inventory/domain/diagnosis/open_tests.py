"""The tests under way on a job: pieces that are out without a result, and swaps that worked.

Reads the log that was weighed already; the only query is for the pieces that are out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from inventory.domain.diagnosis.diagnose import WeighedCase
from inventory.domain.diagnosis.job_case import only_suspect_of_part
from inventory.domain.jobs.job_log import SWAP_TEST
from inventory.store.tables import Loan, Piece


@dataclass(frozen=True)
class OpenLoan:
    """A piece that is out to the job in place of a suspect."""

    loan: Any
    suspect_id: int
    last_worked: bool | None  # how the unit last ran with it, if that was logged while it is out


@dataclass(frozen=True)
class OpenTests:
    """By suspect: the piece that is out for it; the loan with which the unit worked, the old one back in."""

    out: dict[int, OpenLoan]
    worked: dict[int, Any]
    confirmed: frozenset[int]  # suspects of ``worked`` whose old part was put back since, and the unit run


def open_tests(weighed: WeighedCase) -> OpenTests:
    """Return the tests of a job that are not finished."""
    out = {loan.suspect_id: loan for loan in _open_loans(weighed)}
    worked, confirmed = _worked_swaps(weighed)
    return OpenTests(out, {key: loan for key, loan in worked.items() if key not in out}, confirmed)


def _open_loans(weighed: WeighedCase) -> Iterator[OpenLoan]:
    rows = Loan.select(Loan, Piece).join(Piece).where(Loan.job == weighed.job.id, Loan.ended.is_null())
    for row in rows.order_by(Loan.id):
        suspect_id = row.suspect_id or only_suspect_of_part(weighed.suspects, row.piece.part_id)
        if suspect_id is not None:
            yield OpenLoan(row, suspect_id, _last_run_worked(weighed, row.id))


def _last_run_worked(weighed: WeighedCase, loan_id: int) -> bool | None:
    """Return whether the unit worked in the last run logged with a loan; None without one."""
    logged = [line for line in weighed.job_case.lines if any(loan.id == loan_id for loan in line.entry.loans)]
    return next((line.good for line in reversed(logged) if not line.entry.row.struck), None)


def _worked_swaps(weighed: WeighedCase) -> tuple[dict[int, Any], frozenset[int]]:
    """Return by suspect the loan that worked last in its place, and the suspects for which that was confirmed."""
    worked: dict[int, Any] = {}
    confirmed: set[int] = set()
    for line in weighed.job_case.lines:
        entry = line.entry
        suspect_id = getattr(entry.row, "suspect_id", None)
        if suspect_id is None or getattr(entry.row, "struck", None) is not None or entry.kind == "measured":
            continue
        if entry.kind == "put back":
            confirmed.add(suspect_id)
            continue
        confirmed.discard(suspect_id)
        worked.pop(suspect_id, None)
        if entry.kind == SWAP_TEST and line.good and not entry.row.stayed:
            worked[suspect_id] = entry.row
    return worked, frozenset(confirmed)


def failed_piece_ids(weighed: WeighedCase, suspect_id: int) -> set[int]:
    """Return the pieces with which the unit still failed when they were in the place of a suspect."""
    return {
        line.entry.row.piece_id
        for line in weighed.job_case.lines
        if line.good is False and line.entry.kind == SWAP_TEST and line.entry.row.suspect_id == suspect_id
    }
