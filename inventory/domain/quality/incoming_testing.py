"""Incoming checks: some of a delivery are tested, and the lot is accepted, or kept on hold, by what they show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying.incoming_lifecycle import close_check, let_go, open_check, open_check_of, strike_row
from inventory.domain.buying.incoming_plans import checkable, said_before, sample
from inventory.domain.buying.incoming_records import IncomingRecord
from inventory.domain.catalogue import lots
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.common.paging import page_of
from inventory.domain.common.records import Page
from inventory.domain.common.validation import clean, one_of, row
from inventory.domain.movements.undo import undo
from inventory.domain.quality.incoming_queries import record_of, records, to_draw_from
from inventory.domain.quality.incoming_results import keep_result
from inventory.reckoning.quality.acceptance import Sample
from inventory.store import ledger
from inventory.store.tables import IncomingCheck, IncomingTest, Lot

OUTCOMES = ("accepted", "rejected")
_VERDICTS = {"accepted": "accept", "rejected": "reject"}


def check(check_id: int) -> IncomingRecord:
    """Return one check with its tests, those taken back too."""
    return record_of(row(IncomingCheck, check_id, "incoming check"))


def checks(
    *, open_: bool | None = None, lot_id: int | None = None, part_id: int | None = None,
    supplier_id: int | None = None, after: str | None = None, limit: int = 50,
) -> Page:  # fmt: skip
    """Return checks, newest first."""
    query = IncomingCheck.select(IncomingCheck, Lot).join(Lot)
    for column, key in ((Lot.id, lot_id), (Lot.part, part_id), (Lot.supplier, supplier_id)):
        if key is not None:
            query = query.where(column == key)
    if open_ is not None:
        query = query.where(IncomingCheck.closed.is_null(open_))
    page = page_of(query, IncomingCheck.id, after, limit, lambda one: one, falling=True)
    return Page(records(page.items), page.next)


def waiting() -> list[IncomingRecord]:
    """Return the checks under way of lots of which something is left, the oldest first."""
    rows = list(IncomingCheck.select().where(IncomingCheck.closed.is_null()).order_by(IncomingCheck.id).limit(200))
    here = lots.left_of([one.lot_id for one in rows])
    return records([one for one in rows if here.get(one.lot_id)])


def waiting_lots() -> Any:
    """Return a select of the lots that a check under way holds."""
    return IncomingCheck.select(IncomingCheck.lot).where(
        IncomingCheck.closed.is_null(), IncomingCheck.hold.is_null(False)
    )


# ---- beginning -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Asked:
    """What a check by hand asks, as a plan would."""

    test: int | None
    accept: int
    sure: float | None
    most_bad: float | None
    hold: bool


def begin(
    lot_id: int, *, test: int | None = None, accept: int = 0, sure: float | None = None,
    most_bad: float | None = None, hold: bool = True, by: int | None = None,
) -> IncomingRecord:  # fmt: skip
    """Check what is here of a lot, plan or no plan: test so many, or as the question asks (see ``set_plan``)."""
    with ledger.writing_lines():
        lot = row(Lot, lot_id, "lot")
        said_before(test=test, accept=accept, sure=sure, most_bad=most_bad)
        if test == 0:
            raise Invalid("Test at least 1.", reason="bad_plan", errors={"test": ["Test at least 1."]})
        asked = _Asked(test, accept, sure, most_bad, hold)
        here = _to_draw_from(lot)
        return record_of(open_check(lot, here, sample(asked, here), asked, by))


def _to_draw_from(lot: Any) -> int:
    """Return how many of a lot are here; raise Conflict when it cannot be checked."""
    if not checkable(lot.part):
        raise Conflict(
            f"{lot.part.name} is not kept in pieces: it cannot be tested one by one.", reason="not_in_pieces"
        )
    if open_check_of(lot.id) is not None:
        raise Conflict("This lot is being checked already: go on with that check.", reason="check_open")
    here = to_draw_from(lot.id)
    if not here:
        raise Conflict("Nothing of this lot is here to be tested: count its bin if there is.", reason="lot_gone")
    return here


def sort_rest(check_id: int, *, by: int | None = None) -> IncomingRecord:
    """Sort a rejected lot: begin a check of every one that is left, in which the bad ones go and the others pass."""
    with ledger.writing_lines():
        found = row(IncomingCheck, check_id, "incoming check")
        if found.outcome != "rejected":
            raise Conflict("Only a lot that was rejected is sorted: finish its check first.", reason="not_rejected")
        lot = found.lot
        here = _to_draw_from(lot)
        held = lots.holds(lot.id)
        made = open_check(
            lot, here, Sample(here, here), _Asked(None, here, None, None, not lot.on_hold), by, every=True
        )
        if lot.on_hold and held and held[0].ended is None:
            IncomingCheck.update(hold=held[0].id).where(IncomingCheck.id == made.id).execute()
        return check(made.id)


# ---- testing ---------------------------------------------------------------------------------------------


def record(
    check_id: int, *, good: bool | None = None, procedure_id: int | None = None,
    readings: Sequence[Mapping[str, Any]] = (), piece_id: int | None = None, bin_id: int | None = None,
    fate: str = "", name: str = "", note: str = "", corrects: int | None = None, by: int | None = None,
) -> IncomingRecord:  # fmt: skip
    """Note one that was tested: *good* or not as the tester saw it, or by the readings of a procedure.

    *fate*: back (into its bin; a good one unless said otherwise), scrapped (used up or bad; a bad one unless said
    otherwise), labelled (it gets a label of its own, called *name*, and this proof). *piece_id*: it has a label;
    *bin_id*: where one without was taken from. *corrects*: the result that was wrong, taken back in the same act.
    Raises Conflict for a closed check, one tested already, or when no untested one is left.
    """
    with ledger.writing_lines():
        found = _under_way(check_id)
        if corrects is not None:
            _take_back(found, corrects, "Corrected.", by)
        if not record_of(found).left:
            raise Conflict(
                "No untested one of this lot is here: decide by what was tested, or count the bin.",
                reason="none_to_test",
            )
        keep_result(
            found, good=good, procedure_id=procedure_id, readings=readings, piece_id=piece_id, bin_id=bin_id,
            fate=fate, name=name, note=clean(note, "note", 300), by=by,
        )  # fmt: skip
        return check(check_id)


def take_back(check_id: int, test_id: int, *, reason: str, by: int | None = None) -> IncomingRecord:
    """Let a result that was noted by mistake count no longer; what it scrapped or labelled is undone."""
    with ledger.writing_lines():
        said = clean(reason, "reason", 300, needed=True)
        _take_back(_under_way(check_id), test_id, said, by)
        return check(check_id)


def _take_back(found: Any, test_id: int, said: str, by: int | None) -> None:
    test = row(IncomingTest, test_id, "result")
    if test.incoming_id != found.id:
        raise NotFound(f"There is no result {test_id} of this check.")
    strike_row(test, said, by)
    if test.entry is not None:
        undo(test.entry, by=by, reason=f"Incoming check: {said}"[:300])


def _under_way(check_id: int) -> Any:
    found = row(IncomingCheck, check_id, "incoming check")
    if found.closed is not None:
        raise Conflict(
            f"This check is closed, {found.outcome}: begin another one on the lot's page if need be.",
            reason="check_closed",
        )
    return found


# ---- deciding --------------------------------------------------------------------------------------------


def close(check_id: int, outcome: str, *, by: int | None = None) -> IncomingRecord:
    """Close a check as its tests say: *outcome* accepted (ends its hold) or rejected (keeps the lot on hold).

    Raises Conflict while it is not certain, or for the other outcome: that is the owner's to decide.
    """
    with ledger.writing_lines():
        found, seen = _under_way(check_id), check(check_id)
        if seen.verdict != _VERDICTS[one_of(outcome, "outcome", OUTCOMES)]:
            raise Conflict(_not_so(seen), reason="not_decided" if not seen.verdict else "other_verdict")
        return _close(found, seen, outcome, by)


def _not_so(seen: IncomingRecord) -> str:
    if not seen.verdict:
        return f"{seen.progress} tested: go on testing, or let the owner decide and say why."
    return f"By its tests the lot is to be {seen.verdict}ed: only the owner can decide otherwise, and says why."


def override(check_id: int, outcome: str, *, reason: str, by: int | None = None) -> IncomingRecord:
    """Close a check as the owner decides, whatever its tests say or before they say it; *reason* is kept."""
    with ledger.writing_lines():
        said = clean(reason, "reason", 300, needed=True)
        found, seen = _under_way(check_id), check(check_id)
        against = seen.verdict != _VERDICTS[one_of(outcome, "outcome", OUTCOMES)]
        return _close(found, seen, outcome, by, reason=said, overridden=against)


def call_off(check_id: int, *, reason: str, by: int | None = None) -> IncomingRecord:
    """Drop a check without an answer, which ends its hold; *reason* is kept."""
    with ledger.writing_lines():
        said = clean(reason, "reason", 300, needed=True)
        found = _under_way(check_id)
        close_check(found, "called off", by, reason=said)
        let_go(found, f"Incoming check called off: {said}", by)
        return check(check_id)


def _close(
    found: Any, seen: IncomingRecord, outcome: str, by: int | None, *, reason: str = "", overridden: bool = False
) -> IncomingRecord:
    close_check(found, outcome, by, reason=reason, overridden=overridden)
    words = f"Incoming check {outcome}: {seen.bad} of {seen.tested} failed{f'; {reason}' if reason else ''}"
    was_held = let_go(found, words, by)
    free = was_held or not Lot.get_by_id(found.lot_id).on_hold
    if outcome == "rejected" and free and lots.anything_of(found.lot_id):
        lots.hold(found.lot_id, words[:300], by=by)
    return check(found.id)
