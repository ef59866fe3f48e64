"""Lots: where stock came from, and the holds that keep anybody from pulling it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from peewee import fn

from inventory.domain.common import clock
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import HoldRecord, LotRecord, ResultPage, from_row
from inventory.domain.common.validation import clean_text, get_row, update_versioned, validated_money, validated_year
from inventory.store.connection import execute, transaction
from inventory.store.job_use import of_lot, standing_lines
from inventory.store.tables import Balance, Hold, IncomingCheck, Lot, Piece

TEXT_LIMITS = text_limits(LotRecord)


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
    return paginate(query, Lot.id, after, limit, lambda one: from_row(LotRecord, one), descending=True)


def remaining_by_lot(lot_ids: Sequence[int]) -> dict[int, int]:
    """Return how much is left of each lot that has any, loose and as pieces, in base units."""
    loose: Any = (
        Balance.select(Balance.lot, fn.SUM(Balance.quantity)).where(Balance.lot << lot_ids).group_by(Balance.lot)
    )
    single: Any = Piece.select(Piece.lot, fn.COUNT(Piece.id)).where(Piece.lot << lot_ids, Piece.bin.is_null(False))
    found: dict[int, int] = {}
    for query in (loose, single.group_by(Piece.lot)):
        for key, number in query.tuples():
            found[key] = found.get(key, 0) + int(number)
    return {key: number for key, number in found.items() if number}


def is_receipt_undone(lot_id: int) -> bool:
    """Tell whether the receipt that made a lot was undone."""
    return not standing_lines(lot_id, "receive")


def edit_lot(lot_id: int, version: int | None = None, **changes: Any) -> LotRecord:
    """Correct what is noted of a lot: origin_note, maker_lot, date_code, note, best_before, cost_minor."""
    unknown = set(changes) - {*TEXT_LIMITS, "best_before", "cost_minor"}
    if unknown:
        raise Invalid(
            f"A lot's {', '.join(sorted(unknown))} cannot be edited.", errors={k: ["fixed"] for k in unknown}
        )
    kept: dict[str, Any] = dict(changes)
    kept.update(
        {n: clean_text(v, n.replace("_", " "), TEXT_LIMITS[n]) for n, v in changes.items() if n in TEXT_LIMITS}
    )
    validated_year(kept.get("best_before"), "best before")
    if kept.get("cost_minor") is not None:
        validated_money(kept["cost_minor"], "cost_minor")
    with transaction():
        update_versioned(get_row(Lot, lot_id, "lot"), "lot", version, **kept)
        return lot(lot_id)


def hold_lot(lot_id: int, reason: str, *, by: int | None = None) -> HoldRecord:
    """Let nobody pull from a lot until it is released."""
    said = clean_text(reason, "reason", 300, required=True)
    with transaction():
        found = get_row(Lot, lot_id, "lot")
        if found.on_hold:
            raise Conflict("This lot is on hold already: see its page for why.", reason="on_hold")
        if not lot_has_units(lot_id):
            raise Conflict(
                "Nothing of this lot is left, and no job got any: there is nothing to hold back.", reason="lot_gone"
            )
        made = Hold.create(lot=lot_id, reason=said, person=by, at=clock.now())
        update_versioned(found, "lot", None, on_hold=True)
    return _hold_record(made)


def lot_has_units(lot_id: int) -> bool:
    """Tell whether anything of a lot is anywhere: loose here, as a piece, or in a job's unit."""
    rest = (
        "SELECT (SELECT COALESCE(SUM(quantity), 0) FROM balances WHERE lot_id = ?)"
        " + (SELECT COUNT(*) FROM pieces WHERE lot_id = ? AND bin_id IS NOT NULL)"
    )
    return bool(execute(rest, lot_id, lot_id).fetchone()[0] or of_lot(lot_id))


def release_lot(lot_id: int, outcome: str = "", *, by: int | None = None) -> HoldRecord:
    """Let people pull from a lot again; *outcome* says what was found."""
    said = clean_text(outcome, "outcome", 300)
    with transaction():
        found = get_row(Lot, lot_id, "lot")
        held = Hold.get_or_none(Hold.lot == lot_id, Hold.ended.is_null() | Hold.condemned)
        if held is None:
            raise Conflict("This lot is not on hold: nothing to release.", reason="not_on_hold")
        _require_check_closed(held)
        over = {"ended": clock.now(), "ended_by": by, "condemned": False}
        Hold.update(**over, outcome=said or held.outcome).where(Hold.id == held.id).execute()
        update_versioned(found, "lot", None, on_hold=False)
    return _hold_record(Hold.get_by_id(held.id))


def _require_check_closed(held: Any) -> None:
    """Refuse to end a hold that waits for an incoming check: the check ends it."""
    if IncomingCheck.select().where(IncomingCheck.hold == held.id, IncomingCheck.closed.is_null()).exists():
        raise Conflict(
            "This lot waits for its incoming check: finish that, or let the owner decide it and say why.",
            reason="check_open",
        )


def holds(lot_id: int) -> list[HoldRecord]:
    """Return the holds of a lot, newest first."""
    return [_hold_record(hold) for hold in Hold.select().where(Hold.lot == lot_id).order_by(Hold.id.desc())]


def _hold_record(found: Any) -> HoldRecord:
    return from_row(
        HoldRecord, found, person=found.person.shown_as if found.person_id else "",
        ended_by=found.ended_by.shown_as if found.ended_by_id else "",
    )  # fmt: skip
