"""/loans: pieces that are out to a job for a swap test."""

from __future__ import annotations

from typing import Any

from inventory.api.pagination import PageQuery
from inventory.api.proof.loan_schemas import (
    BringBackIn,
    EndLoanIn,
    LoanEndedOut,
    LoanIn,
    LoanOut,
    LoansQuery,
    LoanStartedOut,
)
from inventory.api.proof.proof_schemas import ReasonIn
from inventory.api.resource import Resource, location_header
from inventory.domain.common.records import ResultPage
from inventory.domain.diagnosis import swap_tests
from inventory.domain.proof import loans as domain
from inventory.domain.proof.proof_records import LoanEnded, LoanRecord
from inventory.web.access import current_person

resource = Resource("loans", "Pieces that are out to a job for a swap test.")
LOAN = LoanOut()


@resource.get("/loans")
@resource.arguments(LoansQuery(), location="query")
@resource.listed(LOAN)
def loans(params: dict[str, Any]) -> ResultPage:
    """List loans, newest first, cancelled ones too."""
    return domain.loans(**params)


@resource.get("/loans/overdue")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LOAN, key="id")
def overdue_loans(params: dict[str, Any]) -> list[LoanRecord]:
    """List the loans that should be back by now, the longest overdue first."""
    return domain.overdue_loans()


@resource.get("/loans/<key:loan_id>")
@resource.response(200, LOAN)
def loan(loan_id: int) -> LoanRecord:
    """Read a loan."""
    return domain.loan(loan_id)


@resource.post("/loans")
@resource.arguments(LoanIn())
@resource.response(201, LoanStartedOut(), with_etag=False)
def start_loan(data: dict[str, Any]) -> Any:
    """Take a piece out to a job for a swap test.

    Refused (409) when it is out or gone, its lot is on hold and hold_ok is not set, or the job is closed.
    """
    outcome = swap_tests.take_piece(**data, by=current_person().id)
    return outcome, location_header("loan", outcome.loan.id)


@resource.post("/loans/<key:loan_id>/bring-back")
@resource.arguments(BringBackIn())
@resource.response(200, LoanEndedOut(), with_etag=False)
def bring_back(data: dict[str, Any], loan_id: int) -> LoanEnded:
    """End a swap test: what the unit did with the piece, and the piece is back in a bin."""
    return swap_tests.bring_back_piece(loan_id, **data, by=current_person().id)


@resource.post("/loans/<key:loan_id>/leave-fitted")
@resource.arguments(EndLoanIn())
@resource.response(200, LoanEndedOut(), with_etag=False)
def leave_fitted(data: dict[str, Any], loan_id: int) -> LoanEnded:
    """End a swap test with the piece staying in the unit: the job bears its cost."""
    return swap_tests.leave_piece_fitted(loan_id, **data, by=current_person().id)


@resource.post("/loans/<key:loan_id>/stay")
@resource.response(200, LoanEndedOut(), with_etag=False)
def keep_fitted(loan_id: int) -> LoanEnded:
    """Let a piece that came back after "works with it" stay in the unit after all: the job bears its cost.

    The answer is about the new loan by which it went out again. Refused (409) when the loan did not end so.
    """
    return swap_tests.refit_returned_piece(loan_id, by=current_person().id)


@resource.post("/loans/<key:loan_id>/cancel")
@resource.arguments(ReasonIn())
@resource.response(200, LOAN)
def cancel_loan(data: dict[str, Any], loan_id: int) -> LoanRecord:
    """Undo taking a piece that was never fitted: it is in its bin again."""
    return swap_tests.cancel_loan(loan_id, **data, by=current_person().id)


@resource.post("/loans/<key:loan_id>/reopen")
@resource.arguments(ReasonIn())
@resource.response(200, LOAN)
def reopen_loan(data: dict[str, Any], loan_id: int) -> LoanRecord:
    """Take back the result of a swap test: the piece counts as out again."""
    return swap_tests.reopen_loan(loan_id, **data, by=current_person().id)
