"""/loans: pieces that are out to a job for a swap test."""

from __future__ import annotations

from typing import Any

from inventory.api.pagination import PageQuery
from inventory.api.proof.loan_schemas import BringBackIn, EndIn, LentOut, LoanIn, LoanOut, LoansQuery, ReturnedOut
from inventory.api.proof.proof_schemas import WhyIn
from inventory.api.resource import Resource, at
from inventory.domain.common.records import Page
from inventory.domain.diagnosis import swap_tests
from inventory.domain.proof import loans as stock
from inventory.domain.proof.proof_records import LoanRecord, Returned
from inventory.web.access import caller

resource = Resource("loans", "Pieces that are out to a job for a swap test.")
LOAN = LoanOut()


@resource.get("/loans")
@resource.arguments(LoansQuery(), location="query")
@resource.listed(LOAN)
def loans(asked: dict[str, Any]) -> Page:
    """List loans, newest first, cancelled ones too."""
    return stock.loans(**asked)


@resource.get("/loans/overdue")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LOAN, key=lambda one: one.id)
def overdue_loans(asked: dict[str, Any]) -> list[LoanRecord]:
    """List the loans that should be back by now, the longest overdue first."""
    return stock.overdue_loans()


@resource.get("/loans/<key:loan_id>")
@resource.response(200, LOAN)
def loan(loan_id: int) -> LoanRecord:
    """Read a loan."""
    return stock.loan(loan_id)


@resource.post("/loans")
@resource.arguments(LoanIn())
@resource.response(201, LentOut(), entity=False)
def take(given: dict[str, Any]) -> Any:
    """Take a piece out to a job for a swap test.

    Refused (409) when it is out or gone, its lot is on hold and hold_ok is not set, or the job is closed.
    """
    made = swap_tests.take(**given, by=caller().id)
    return made, at("loan", made.loan.id)


@resource.post("/loans/<key:loan_id>/bring-back")
@resource.arguments(BringBackIn())
@resource.response(200, ReturnedOut(), entity=False)
def bring_back(given: dict[str, Any], loan_id: int) -> Returned:
    """End a swap test: what the unit did with the piece, and the piece is back in a bin."""
    return swap_tests.bring_back(loan_id, **given, by=caller().id)


@resource.post("/loans/<key:loan_id>/leave-fitted")
@resource.arguments(EndIn())
@resource.response(200, ReturnedOut(), entity=False)
def leave_fitted(given: dict[str, Any], loan_id: int) -> Returned:
    """End a swap test with the piece staying in the unit: the job bears its cost."""
    return swap_tests.leave_fitted(loan_id, **given, by=caller().id)


@resource.post("/loans/<key:loan_id>/stay")
@resource.response(200, ReturnedOut(), entity=False)
def stay_after_all(loan_id: int) -> Returned:
    """Let a piece that came back after "works with it" stay in the unit after all: the job bears its cost.

    The answer is about the new loan by which it went out again. Refused (409) when the loan did not end so.
    """
    return swap_tests.stay_after_all(loan_id, by=caller().id)


@resource.post("/loans/<key:loan_id>/cancel")
@resource.arguments(WhyIn())
@resource.response(200, LOAN)
def cancel(given: dict[str, Any], loan_id: int) -> LoanRecord:
    """Undo taking a piece that was never fitted: it is in its bin again."""
    return swap_tests.cancel(loan_id, **given, by=caller().id)


@resource.post("/loans/<key:loan_id>/reopen")
@resource.arguments(WhyIn())
@resource.response(200, LOAN)
def reopen(given: dict[str, Any], loan_id: int) -> LoanRecord:
    """Take back the result of a swap test: the piece counts as out again."""
    return swap_tests.reopen(loan_id, **given, by=caller().id)
