"""Opens and closes incoming checks: at a receipt, at its undoing, when the lot is scrapped."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory.domain.buying.incoming_plans import describe_acceptance, plan_for_delivery, required_sample
from inventory.domain.catalogue import lots
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict
from inventory.reckoning.quality.acceptance import SamplingPlan
from inventory.store.tables import Hold, IncomingCheck, IncomingTest, Lot, Proof


def open_after_receipt(lot: Any, by: int | None) -> str:
    """Open the check that the plan asks of a delivery just received; return what to do, or "" without a plan."""
    if lot.origin != "delivery":
        return ""
    plan = plan_for_delivery(lot.part, lot.supplier_id)
    if plan is None:
        return ""
    check = open_check(lot, lot.quantity, required_sample(plan, lot.quantity), plan, by)
    hold_sentence = "Nobody can take from the lot until then." if check.hold_id else "It may be used meanwhile."
    return f"To be tested: {check.tests} of {lot.quantity}. {hold_sentence}"


def open_check(lot: Any, pieces: int, sample: SamplingPlan, plan: Any, by: int | None, *, every: bool = False) -> Any:
    """Open a check of the *pieces* of a lot that are in stock; hold the lot if the *plan* (row or record) says so."""
    hold_id = None
    if plan.hold:
        requirement = (
            "test every one" if every else f"{sample.tests} to be tested, {describe_acceptance(sample.accept)}"
        )
        hold_id = _hold_lot(lot.id, f"Incoming check: {requirement}", by)
    return IncomingCheck.create(
        lot=lot.id, opened=clock.now(), opened_by=by, pieces=pieces, tests=sample.tests, accept=sample.accept,
        sure=plan.sure, most_bad=plan.most_bad, every=every, hold=hold_id,
    )  # fmt: skip


def _hold_lot(lot_id: int, reason: str, by: int | None) -> int | None:
    """Put a lot on hold; return the hold's id, or None when it was on hold already."""
    if Lot.get_by_id(lot_id).on_hold:
        return None
    return lots.hold_lot(lot_id, reason, by=by).id


def find_open_check(lot_id: int) -> Any | None:
    """Return the check (row) of a lot that is under way."""
    return IncomingCheck.get_or_none(IncomingCheck.lot == lot_id, IncomingCheck.closed.is_null())


def open_checks_by_lot(lot_ids: Iterable[int]) -> dict[int, int]:
    """Return by lot the check that is under way, of those that have one."""
    query = IncomingCheck.select().where(IncomingCheck.lot << list(set(lot_ids)), IncomingCheck.closed.is_null())
    return {check.lot_id: check.id for check in query}


def close_check(check: Any, outcome: str, by: int | None, *, reason: str = "", overridden: bool = False) -> None:
    """Close a check (row); raise Conflict when somebody did so meanwhile."""
    columns = {"closed": clock.now(), "closed_by": by, "outcome": outcome, "reason": reason, "overridden": overridden}
    still_open = (IncomingCheck.id == check.id) & IncomingCheck.closed.is_null()
    if IncomingCheck.update(**columns).where(still_open).execute() != 1:
        raise Conflict("This check was closed meanwhile: look at what came of it.", reason="check_closed")


def cancel_check_of_lot(lot_id: int, why: str, by: int | None) -> None:
    """Close the open check, if any, of a lot that is gone."""
    check = find_open_check(lot_id)
    if check is not None:
        close_check(check, "called off", by, reason=why)


def cancel_checks_of_entry(rows: Any, by: int | None) -> None:
    """Follow the undoing of an entry (its lines): a test that scrapped or labelled one no longer counts, and a
    receipt that is undone needs no check.
    """  # fmt: skip
    for test in IncomingTest.select().where(IncomingTest.entry == rows[0].entry, IncomingTest.struck.is_null()):
        if test.incoming.closed is None:
            strike_result(test, "What it did was undone.", by)
    for lot_id in {row.lot_id for row in rows if row.kind == "receive"}:
        check = find_open_check(lot_id)
        if check is not None:
            cancel_check_of_lot(lot_id, "The receipt was undone.", by)
            release_hold(check, "The receipt was undone.", by)


def strike_result(test: Any, why: str, by: int | None) -> None:
    """Strike a test (row) and its proof; raise Conflict when that was done already."""
    columns = {"struck": clock.now(), "struck_by": by, "struck_reason": why}
    not_struck = (IncomingTest.id == test.id) & IncomingTest.struck.is_null()
    if IncomingTest.update(**columns).where(not_struck).execute() != 1:
        raise Conflict("This result was taken back already.", reason="struck_already")
    if test.proof_id is not None:
        Proof.update(**columns).where(Proof.id == test.proof_id, Proof.struck.is_null()).execute()


def release_hold(check: Any, outcome: str, by: int | None) -> bool:
    """End the hold of a closed check if it is still in force; return whether it was."""
    hold = None if check.hold_id is None else Hold.get_or_none(Hold.id == check.hold_id, Hold.ended.is_null())
    if hold is None:
        return False
    lots.release_lot(check.lot_id, outcome[:300], by=by)
    return True
