"""Incoming checks: some of a delivery are tested, and the lot is accepted, or kept on hold, by what they show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying.incoming_lifecycle import (
    close_check,
    find_open_check,
    open_check,
    release_hold,
    strike_result,
)
from inventory.domain.buying.incoming_plans import is_checkable, preview_plan, required_sample
from inventory.domain.buying.incoming_records import CHECK_OUTCOMES, IncomingCheckRecord
from inventory.domain.catalogue import lots
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage
from inventory.domain.common.validation import clean_text, get_row, validated_choice
from inventory.domain.movements.undo import undo
from inventory.domain.quality.incoming_queries import check_record, check_records, units_to_test
from inventory.domain.quality.incoming_results import store_result
from inventory.reckoning.quality.acceptance import SamplingPlan
from inventory.store import ledger
from inventory.store.tables import IncomingCheck, IncomingTest, Lot

_VERDICT_BY_OUTCOME = {"accepted": "accept", "rejected": "reject"}


def check(check_id: int) -> IncomingCheckRecord:
    """Return one check with its tests, those taken back too."""
    return check_record(get_row(IncomingCheck, check_id, "incoming check"))


def checks(
    *, open_: bool | None = None, lot_id: int | None = None, part_id: int | None = None,
    supplier_id: int | None = None, after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return checks, newest first."""
    query = IncomingCheck.select(IncomingCheck, Lot).join(Lot)
    for column, key in ((Lot.id, lot_id), (Lot.part, part_id), (Lot.supplier, supplier_id)):
        if key is not None:
            query = query.where(column == key)
    if open_ is not None:
        query = query.where(IncomingCheck.closed.is_null(open_))
    page = paginate(query, IncomingCheck.id, after, limit, lambda row: row, descending=True)
    return ResultPage(check_records(page.items), page.next)


def waiting_checks() -> list[IncomingCheckRecord]:
    """Return the checks under way of lots of which something is left, the oldest first."""
    rows = list(IncomingCheck.select().where(IncomingCheck.closed.is_null()).order_by(IncomingCheck.id).limit(200))
    remaining = lots.remaining_by_lot([row.lot_id for row in rows])
    return check_records([row for row in rows if remaining.get(row.lot_id)])


def lots_held_by_checks() -> Any:
    """Return a select of the lots that a check under way holds."""
    return IncomingCheck.select(IncomingCheck.lot).where(
        IncomingCheck.closed.is_null(), IncomingCheck.hold.is_null(False)
    )


# ---- beginning -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _CheckRequest:
    """What a check by hand asks, as a plan would."""

    test: int | None
    accept: int
    sure: float | None
    most_bad: float | None
    hold: bool


def begin_check(
    lot_id: int, *, test: int | None = None, accept: int = 0, sure: float | None = None,
    most_bad: float | None = None, hold: bool = True, by: int | None = None,
) -> IncomingCheckRecord:  # fmt: skip
    """Check what is here of a lot, plan or no plan: test so many, or as the question asks (see ``set_plan``)."""
    with ledger.ledger_transaction():
        lot = get_row(Lot, lot_id, "lot")
        preview_plan(test=test, accept=accept, sure=sure, most_bad=most_bad)
        if test == 0:
            raise Invalid("Test at least 1.", reason="bad_plan", errors={"test": ["Test at least 1."]})
        request = _CheckRequest(test, accept, sure, most_bad, hold)
        untested = _require_units_to_test(lot)
        return check_record(open_check(lot, untested, required_sample(request, untested), request, by))


def _require_units_to_test(lot: Any) -> int:
    """Return how many of a lot are here; raise Conflict when it cannot be checked."""
    if not is_checkable(lot.part):
        raise Conflict(
            f"{lot.part.name} is not kept in pieces: it cannot be tested one by one.", reason="not_in_pieces"
        )
    if find_open_check(lot.id) is not None:
        raise Conflict("This lot is being checked already: go on with that check.", reason="check_open")
    untested = units_to_test(lot.id)
    if not untested:
        raise Conflict("Nothing of this lot is here to be tested: count its bin if there is.", reason="lot_gone")
    return untested


def sort_rejected_lot(check_id: int, *, by: int | None = None) -> IncomingCheckRecord:
    """Sort a rejected lot: begin a check of every one that is left, in which the bad ones go and the others pass."""
    with ledger.ledger_transaction():
        rejected = get_row(IncomingCheck, check_id, "incoming check")
        if rejected.outcome != "rejected":
            raise Conflict("Only a lot that was rejected is sorted: finish its check first.", reason="not_rejected")
        lot = rejected.lot
        untested = _require_units_to_test(lot)
        held = lots.holds(lot.id)
        row = open_check(
            lot,
            untested,
            SamplingPlan(untested, untested),
            _CheckRequest(None, untested, None, None, not lot.on_hold),
            by,
            every=True,
        )
        if lot.on_hold and held and held[0].ended is None:
            IncomingCheck.update(hold=held[0].id).where(IncomingCheck.id == row.id).execute()
        return check(row.id)


# ---- testing ---------------------------------------------------------------------------------------------


def record_result(
    check_id: int, *, good: bool | None = None, procedure_id: int | None = None,
    readings: Sequence[Mapping[str, Any]] = (), piece_id: int | None = None, bin_id: int | None = None,
    fate: str = "", name: str = "", note: str = "", corrects: int | None = None, by: int | None = None,
) -> IncomingCheckRecord:  # fmt: skip
    """Note one that was tested: *good* or not as the tester saw it, or by the readings of a procedure.

    *fate*: back (into its bin; a good one unless said otherwise), scrapped (used up or bad; a bad one unless said
    otherwise), labelled (it gets a label of its own, called *name*, and this proof). *piece_id*: it has a label;
    *bin_id*: where one without was taken from. *corrects*: the result that was wrong, taken back in the same act.
    Raises Conflict for a closed check, one tested already, or when no untested one is left.
    """
    with ledger.ledger_transaction():
        row = _require_open_check(check_id)
        if corrects is not None:
            _strike_and_undo(row, corrects, "Corrected.", by)
        if not check_record(row).left:
            raise Conflict(
                "No untested one of this lot is here: decide by what was tested, or count the bin.",
                reason="none_to_test",
            )
        store_result(
            row, good=good, procedure_id=procedure_id, readings=readings, piece_id=piece_id, bin_id=bin_id,
            fate=fate, name=name, note=clean_text(note, "note", 300), by=by,
        )  # fmt: skip
        return check(check_id)


def take_back_result(check_id: int, test_id: int, *, reason: str, by: int | None = None) -> IncomingCheckRecord:
    """Let a result that was noted by mistake count no longer; what it scrapped or labelled is undone."""
    with ledger.ledger_transaction():
        clean_reason = clean_text(reason, "reason", 300, required=True)
        _strike_and_undo(_require_open_check(check_id), test_id, clean_reason, by)
        return check(check_id)


def _strike_and_undo(row: Any, test_id: int, reason: str, by: int | None) -> None:
    test = get_row(IncomingTest, test_id, "result")
    if test.incoming_id != row.id:
        raise NotFound(f"There is no result {test_id} of this check.")
    strike_result(test, reason, by)
    if test.entry is not None:
        undo(test.entry, by=by, reason=f"Incoming check: {reason}"[:300])


def _require_open_check(check_id: int) -> Any:
    row = get_row(IncomingCheck, check_id, "incoming check")
    if row.closed is not None:
        raise Conflict(
            f"This check is closed, {row.outcome}: begin another one on the lot's page if need be.",
            reason="check_closed",
        )
    return row


# ---- deciding --------------------------------------------------------------------------------------------


def close_as_tested(check_id: int, outcome: str, *, by: int | None = None) -> IncomingCheckRecord:
    """Close a check as its tests say: *outcome* accepted (ends its hold) or rejected (keeps the lot on hold).

    Raises Conflict while it is not certain, or for the other outcome: that is the owner's to decide.
    """
    with ledger.ledger_transaction():
        row, record = _require_open_check(check_id), check(check_id)
        if record.verdict != _VERDICT_BY_OUTCOME[validated_choice(outcome, "outcome", CHECK_OUTCOMES)]:
            raise Conflict(
                _wrong_outcome_message(record), reason="not_decided" if not record.verdict else "other_verdict"
            )
        return _close_with_outcome(row, record, outcome, by)


def _wrong_outcome_message(record: IncomingCheckRecord) -> str:
    if not record.verdict:
        return f"{record.progress} tested: go on testing, or let the owner decide and say why."
    return f"By its tests the lot is to be {record.verdict}ed: only the owner can decide otherwise, and says why."


def override_verdict(check_id: int, outcome: str, *, reason: str, by: int | None = None) -> IncomingCheckRecord:
    """Close a check as the owner decides, whatever its tests say or before they say it; *reason* is kept."""
    with ledger.ledger_transaction():
        clean_reason = clean_text(reason, "reason", 300, required=True)
        row, record = _require_open_check(check_id), check(check_id)
        against = record.verdict != _VERDICT_BY_OUTCOME[validated_choice(outcome, "outcome", CHECK_OUTCOMES)]
        return _close_with_outcome(row, record, outcome, by, reason=clean_reason, overridden=against)


def call_off_check(check_id: int, *, reason: str, by: int | None = None) -> IncomingCheckRecord:
    """Drop a check without an answer, which ends its hold; *reason* is kept."""
    with ledger.ledger_transaction():
        clean_reason = clean_text(reason, "reason", 300, required=True)
        row = _require_open_check(check_id)
        close_check(row, "called off", by, reason=clean_reason)
        release_hold(row, f"Incoming check called off: {clean_reason}", by)
        return check(check_id)


def _close_with_outcome(
    row: Any, record: IncomingCheckRecord, outcome: str, by: int | None, *, reason: str = "", overridden: bool = False
) -> IncomingCheckRecord:
    close_check(row, outcome, by, reason=reason, overridden=overridden)
    sentence = f"Incoming check {outcome}: {record.bad} of {record.tested} failed{f'; {reason}' if reason else ''}"
    was_held = release_hold(row, sentence, by)
    free = was_held or not Lot.get_by_id(row.lot_id).on_hold
    if outcome == "rejected" and free and lots.lot_has_units(row.lot_id):
        lots.hold_lot(row.lot_id, sentence[:300], by=by)
    return check(row.id)
