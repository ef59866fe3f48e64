"""Loans: which pieces are or were out to a job, since when, and what came of it. Reads only."""

from __future__ import annotations

from typing import Any

from peewee import JOIN

from inventory.domain.common import clock
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.validation import get_row
from inventory.domain.proof.proof_records import LoanRecord
from inventory.store.tables import Bin, Job, Loan, Part, Person, Piece, Suspect

SWAP_RESULTS = ("works with it", "still fails", "cannot tell")
WORKS_WITH_IT, STILL_FAILS, CANNOT_TELL = SWAP_RESULTS
CANCELLED = "cancelled"
UNIT_WORKED = {WORKS_WITH_IT: True, STILL_FAILS: False}
"""What the unit did, by the result of a swap test; the other results say nothing of it."""

HAS_RESULT = Loan.ended.is_null(False) & (Loan.result != CANCELLED)

_Taker = Person.alias()
_Ender = Person.alias()


def loan(loan_id: int) -> LoanRecord:
    """Return one loan."""
    get_row(Loan, loan_id, "loan")
    return loan_record(_with_names().where(Loan.id == loan_id).get())


def loans(
    *, piece_id: int | None = None, job_id: int | None = None, open_: bool | None = None, after: str | None = None,
    limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return loans, newest first, cancelled ones too; *open_* tells those that are still out."""
    query = _with_names()
    for column, value in ((Loan.piece, piece_id), (Loan.job, job_id)):
        if value is not None:
            query = query.where(column == value)
    if open_ is not None:
        query = query.where(Loan.ended.is_null(open_))
    return paginate(query, Loan.id, after, limit, loan_record, descending=True)


def open_loans(*, job_id: int | None = None) -> list[LoanRecord]:
    """Return every loan that is out, of one job or of all, the first due first."""
    query = _with_names().where(Loan.ended.is_null())
    if job_id is not None:
        query = query.where(Loan.job == job_id)
    return [loan_record(row) for row in query.order_by(Loan.due, Loan.id)]


def overdue_loans() -> list[LoanRecord]:
    """Return the loans that should be back by now, the longest overdue first."""
    query = _with_names().where(Loan.ended.is_null(), Loan.due < clock.now())
    return [loan_record(row) for row in query.order_by(Loan.due, Loan.id)]


def _with_names() -> Any:
    return (
        Loan.select(Loan, Piece, Part, Job, Suspect, Bin, _Taker, _Ender)
        .join(Piece).join(Part).switch(Loan).join(Job).switch(Loan)
        .join(Suspect, JOIN.LEFT_OUTER).switch(Loan).join(Bin).switch(Loan)
        .join(_Taker, JOIN.LEFT_OUTER, on=(Loan.taken_by == _Taker.id), attr="taker").switch(Loan)
        .join(_Ender, JOIN.LEFT_OUTER, on=(Loan.ended_by == _Ender.id), attr="ender")
    )  # fmt: skip


def loan_record(row: Any) -> LoanRecord:
    """Return the record of a row that was read with its names."""
    return from_row(
        LoanRecord, row, piece_code=row.piece.code, piece_name=row.piece.name, part_id=row.piece.part_id,
        part_name=row.piece.part.name, job_number=row.job.number,
        suspect=row.suspect.name if row.suspect_id else "", bin_name=row.bin.shown_as,
        taken_by=row.taker.shown_as if row.taken_by_id else "",
        ended_by=row.ender.shown_as if row.ended_by_id else "",
        overdue=row.ended is None and row.due < clock.now(),
    )  # fmt: skip
