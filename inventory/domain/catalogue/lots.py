"""Lots: where stock came from, and the holds that keep anybody from pulling it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import HoldRecord, LotRecord, ResultPage, from_row
from inventory.domain.common.validation import (
    check_field_names,
    clean_text,
    clean_texts,
    get_row,
    update_versioned,
    validated_money,
    validated_year,
)
from inventory.store.connection import run_for, transaction
from inventory.store.job_use import of_lot, standing_lines
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Hold, IncomingCheck, Lot

TEXT_LIMITS = {**text_limits(LotRecord), "raw_code": 4000}


def lot(lot_id: int) -> LotRecord:
    """Return one lot."""
    return from_row(LotRecord, get_row(Lot, lot_id, "lot"))


def lots(
    *, part_id: int | None = None, supplier_id: int | None = None, on_hold: bool | None = None,
    maker_lot: str = "", after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return lots, newest first."""
    query = Lot.select()
    for column, value in ((Lot.part, part_id), (Lot.supplier, supplier_id), (Lot.on_hold, on_hold)):
        if value is not None:
            query = query.where(column == value)
    if maker_lot:
        query = query.where(Lot.maker_lot == maker_lot)
    return paginate(query, Lot.id, after, limit, lambda row: from_row(LotRecord, row), descending=True)


def remaining_by_lot(lot_ids: Sequence[int]) -> dict[int, int]:
    """Return how much is left of each lot that has any, loose and as pieces, in base units."""
    return {lot: int(quantity) for lot, quantity in run_for(_REMAINING, lot_ids)}


_REMAINING = f"SELECT lot_id, SUM(quantity) FROM {IN_BINS} s WHERE lot_id IN ({{ids}}) GROUP BY lot_id"


def is_receipt_undone(lot_id: int) -> bool:
    """Tell whether the receipt that made a lot was undone."""
    return not standing_lines(lot_id, "receive")


def edit_lot(lot_id: int, version: int | None = None, **changes: Any) -> LotRecord:
    """Edit a lot: origin_note, maker_lot, date_code, note, best_before, cost_minor."""
    allowed = {*TEXT_LIMITS, "best_before", "cost_minor"} - {"raw_code"}
    check_field_names(changes, allowed, "A lot's {} cannot be edited.", verdict="fixed")
    texts = clean_texts(changes, {name: most for name, most in TEXT_LIMITS.items() if name in changes})
    validated_year(changes.get("best_before"), "best before")
    if changes.get("cost_minor") is not None:
        validated_money(changes["cost_minor"], "cost_minor")
    with transaction():
        update_versioned(get_row(Lot, lot_id, "lot"), "lot", version, **{**changes, **texts})
        return lot(lot_id)


def hold_lot(lot_id: int, reason: str, *, by: int | None = None) -> HoldRecord:
    """Keep everybody from pulling from a lot until it is released."""
    reason = clean_text(reason, "reason", 300, required=True)
    with transaction():
        row = get_row(Lot, lot_id, "lot")
        if row.on_hold:
            raise Conflict("This lot is on hold already: see its page for why.", reason="on_hold")
        if not lot_has_units(lot_id):
            raise Conflict(
                "Nothing of this lot is left, and no job got any: there is nothing to hold back.", reason="lot_gone"
            )
        hold = Hold.create(lot=lot_id, reason=reason, person=by, at=clock.now())
        update_versioned(row, "lot", None, on_hold=True)
    return _hold_record(hold)


def lot_has_units(lot_id: int) -> bool:
    """Tell whether any of a lot is left: loose in a bin, as a piece, or in a job's unit."""
    return bool(remaining_by_lot([lot_id]) or of_lot(lot_id))


def release_lot(lot_id: int, outcome: str = "", *, by: int | None = None) -> HoldRecord:
    """Let people pull from a lot again; *outcome* says what was found."""
    outcome = clean_text(outcome, "outcome", 300)
    with transaction():
        row = get_row(Lot, lot_id, "lot")
        hold = Hold.current_of(lot_id)
        if hold is None:
            raise Conflict("This lot is not on hold: nothing to release.", reason="not_on_hold")
        _require_check_closed(hold)
        changes = {"ended": clock.now(), "ended_by": by, "condemned": False, "outcome": outcome or hold.outcome}
        Hold.update(**changes).where(Hold.id == hold.id).execute()
        update_versioned(row, "lot", None, on_hold=False)
    return _hold_record(Hold.get_by_id(hold.id))


def _require_check_closed(hold: Hold) -> None:
    """Refuse to end a hold that waits for an incoming check: the check ends it."""
    if IncomingCheck.select().where(IncomingCheck.hold == hold.id, IncomingCheck.closed.is_null()).exists():
        raise Conflict(
            "This lot waits for its incoming check: finish that, or let the owner decide it and say why.",
            reason="check_open",
        )


def holds(lot_id: int) -> list[HoldRecord]:
    """Return the holds of a lot, newest first."""
    return [_hold_record(hold) for hold in Hold.select().where(Hold.lot == lot_id).order_by(Hold.id.desc())]


def _hold_record(hold: Any) -> HoldRecord:
    return from_row(
        HoldRecord, hold, person=hold.person.shown_as if hold.person_id else "",
        ended_by=hold.ended_by.shown_as if hold.ended_by_id else "",
    )  # fmt: skip
