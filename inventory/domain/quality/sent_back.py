"""Sending stock back to its supplier: it leaves the shelf, the cause is stated, and money is expected for it.

In the ledger it is a scrap, as nothing of it is left here; beside that stand who it went to, why, what is asked for
it and what came of it. Undoing the entry brings the stock back, and what was sent back counts no longer.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from peewee import JOIN

from inventory.domain.catalogue import lots
from inventory.domain.catalogue.lot_costs import cost_of_line
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import ActionResult, LotRecord, PartRecord, ResultPage, from_row
from inventory.domain.common.validation import (
    MAX_QUANTITY,
    check_field_names,
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
    validated_money,
)
from inventory.domain.movements import adjustments
from inventory.domain.quality import recall
from inventory.domain.quality.sent_back_records import MoneyBack, SentBackRecord
from inventory.store import ledger
from inventory.store.connection import execute, transaction
from inventory.store.tables import Lot, Movement, Part, Person, SentBack, Supplier

DEAD_ON_ARRIVAL = "dead on arrival"  # the one cause that counts among a supplier's dead ones
RETURN_CAUSES = (DEAD_ON_ARRIVAL, "failed in use", "not as ordered", "not needed", "lot rejected")
CAUSE_NOT_STATED = "not stated"  # of what was sent back before causes were kept
_UNDONE_SQL = "EXISTS (SELECT 1 FROM movements r WHERE r.reverses_id = sent_back.entry)"
TEXT_LIMITS = {"reference": 80, "note": 1000}


def send_back(
    quantity: int = 1, *, cause: str, bin_id: int | None = None, lot_id: int | None = None,
    piece_id: int | None = None, supplier_id: int | None = None, expected_minor: int | None = None,
    reference: str = "", note: str = "", by: int | None = None,
) -> tuple[SentBackRecord, ActionResult]:  # fmt: skip
    """Send loose units of a lot (on hold or not), or one piece, back to the supplier of the lot, or to another.

    *cause* is one of CAUSES. *expected_minor* is the money asked for it (None: what it had cost, if that is known).
    Raises Invalid when nobody is known to have supplied it, Conflict when so much is not there.
    """
    validated_choice(cause, "cause", RETURN_CAUSES)
    with ledger.ledger_transaction():
        reason = f"sent back: {cause}"
        done = adjustments.scrap(quantity, reason=reason, bin_id=bin_id, lot_id=lot_id, piece_id=piece_id, by=by)
        kept = _store_sent_back(done, cause, supplier_id, expected_minor, reference, note, by)
    return kept, done


def send_rest_back(
    lot_id: int, *, cause: str, supplier_id: int | None = None, expected_minor: int | None = None,
    reference: str = "", note: str = "", by: int | None = None,
) -> tuple[SentBackRecord, ActionResult]:  # fmt: skip
    """Send all that is left of a lot on hold back, which ends the hold; what comes back from jobs stays on hold.

    Raises Conflict when nothing of it is left, or while a piece of it is out.
    """
    validated_choice(cause, "cause", RETURN_CAUSES)
    with ledger.ledger_transaction():
        get_row(Lot, lot_id, "lot")
        if not lots.remaining_by_lot([lot_id]):
            raise Conflict(
                "Nothing of this lot is left to send back: end its hold without that.", reason="nothing_left"
            )
        done = recall.scrap_rest(lot_id, f"sent back: {cause}", by=by)
        assert done is not None  # something was left
        kept = _store_sent_back(done, cause, supplier_id, expected_minor, reference, note, by)
    return kept, done


def _store_sent_back(
    done: ActionResult,
    cause: str,
    supplier_id: int | None,
    expected: int | None,
    reference: str,
    note: str,
    by: int | None,
) -> SentBackRecord:
    lot = get_row(Lot, done.lot_ids[0], "lot")
    made = SentBack.create(
        entry=done.entry,
        lot=lot.id,
        supplier=_resolve_supplier(lot, supplier_id).id,
        quantity=done.quantity,
        cause=cause,
        at=clock.now(),
        person=by,
        expected_minor=_cost_of_entry(done)
        if expected is None
        else validated_money(expected, "expected_minor", MAX_QUANTITY),
        **{
            name: clean_text(text, name, TEXT_LIMITS[name])
            for name, text in (("reference", reference), ("note", note))
        },
    )
    return sent_back(made.id)


def _resolve_supplier(lot: Any, supplier_id: int | None) -> Any:
    if supplier_id is None and lot.supplier_id is None:
        sentence = "Nobody is noted as the supplier of this lot: say to whom it goes back, or scrap it."
        raise Invalid(sentence, reason="no_supplier", errors={"supplier_id": [sentence]})
    return get_row(Supplier, lot.supplier_id if supplier_id is None else supplier_id, "supplier")


def _cost_of_entry(done: ActionResult) -> int | None:
    """Return what the stock that left by an entry had cost; None when that is not known."""
    first, last = ledger.line_range(done.entry)
    lines = Movement.select().where(Movement.id.between(first, last), Movement.entry == done.entry)
    costs = [cost_of_line(line.lot_id, line.id) for line in lines]
    return None if None in costs else sum(cost or 0 for cost in costs)


# ---- what came of it -------------------------------------------------------------------------------------


def settle_sent_back(
    sent_back_id: int, got_minor: int, *, outcome: str = "", version: int | None = None, by: int | None = None
) -> SentBackRecord:
    """Note the money that came for it (0: none) and what the supplier said; noted again, it is corrected."""
    with transaction():
        found = _require_in_force(sent_back_id)
        update_versioned(
            found,
            "note of what was sent back",
            version,
            settled=clock.now(),
            settled_by=by,
            got_minor=validated_money(got_minor, "got_minor", MAX_QUANTITY),
            outcome=clean_text(outcome, "outcome", 300),
        )
        return sent_back(sent_back_id)


def edit_sent_back(sent_back_id: int, version: int | None = None, **changes: Any) -> SentBackRecord:
    """Correct what is noted beside it: expected_minor, reference, note."""
    check_field_names(
        changes, ("expected_minor", *TEXT_LIMITS), "{} cannot be changed: undo the entry, and send it back again.",
        verdict="fixed",
    )  # fmt: skip
    kept = {
        name: clean_text(value, name, TEXT_LIMITS[name]) if name in TEXT_LIMITS else value
        for name, value in changes.items()
    }
    if kept.get("expected_minor") is not None:
        validated_money(kept["expected_minor"], "expected_minor", MAX_QUANTITY)
    with transaction():
        update_versioned(_require_in_force(sent_back_id), "note of what was sent back", version, **kept)
        return sent_back(sent_back_id)


def _require_in_force(sent_back_id: int) -> Any:
    found = get_row(SentBack, sent_back_id, "thing sent back")
    if _undone_entries([found.entry]):
        raise Conflict("That was undone: it never left the shelf.", reason="undone")
    return found


# ---- reading ---------------------------------------------------------------------------------------------


def sent_back(sent_back_id: int) -> SentBackRecord:
    """Return one that was sent back."""
    get_row(SentBack, sent_back_id, "thing sent back")
    return _records([_with_names().where(SentBack.id == sent_back_id).get()])[0]


def list_sent_back(
    *, supplier_id: int | None = None, lot_id: int | None = None, waits: bool | None = None,
    after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return what was sent back, the newest first; *waits* tells those that the supplier has not answered yet."""
    query = _with_names()
    for column, value in ((SentBack.supplier, supplier_id), (SentBack.lot, lot_id)):
        if value is not None:
            query = query.where(column == value)
    if waits is not None:
        undone = _undone_entries_query()
        waiting = SentBack.settled.is_null() & SentBack.entry.not_in(undone)
        query = query.where(waiting if waits else ~waiting)
    found = paginate(query, SentBack.id, after, limit, lambda one: one, descending=True)
    return ResultPage(_records(found.items), found.next)


def money_back() -> MoneyBack:
    """Return how much is expected back from suppliers, and how much came, by now."""
    sql = (
        "SELECT COUNT(*), COALESCE(SUM(expected_minor), 0), SUM(CASE WHEN expected_minor IS NULL THEN 1 ELSE 0 END),"
        f" COALESCE(SUM(got_minor), 0) FROM sent_back WHERE NOT {_UNDONE_SQL} AND settled IS "
    )
    waiting, expected, without, _ = execute(f"{sql} NULL").fetchone()
    settled, _, _, got = execute(f"{sql} NOT NULL").fetchone()
    return MoneyBack(int(waiting), int(expected), int(without or 0), int(settled), int(got))


def _undone_entries_query() -> Any:
    return Movement.select(Movement.reverses).where(Movement.reverses.is_null(False))


def _undone_entries(entries: Iterable[int]) -> set[int]:
    rows = Movement.select(Movement.reverses).where(Movement.reverses << list(entries))
    return {row.reverses_id for row in rows}


def _with_names() -> Any:
    settler = Person.alias()
    return (
        SentBack.select(SentBack, Lot, Part, Supplier, Person, settler)
        .join(Lot).join(Part).switch(SentBack).join(Supplier)
        .switch(SentBack).join(Person, JOIN.LEFT_OUTER, on=SentBack.person)
        .switch(SentBack).join(settler, JOIN.LEFT_OUTER, on=(SentBack.settled_by == settler.id), attr="settler")
    )  # fmt: skip


def _records(rows: Iterable[Any]) -> list[SentBackRecord]:
    known = list(rows)
    undone = _undone_entries(one.entry for one in known)
    return [_record(one, one.entry in undone) for one in known]


def _record(one: Any, undone: bool) -> SentBackRecord:
    return from_row(
        SentBackRecord, one, lot=from_row(LotRecord, one.lot), part=from_row(PartRecord, one.lot.part),
        supplier=one.supplier.name, person=one.person.shown_as if one.person_id else "",
        settled_by=one.settler.shown_as if one.settled_by_id else "", undone=undone,
    )  # fmt: skip


def describe_sent_back(found: SentBackRecord) -> str:
    """Say what went where."""
    return f"{quantity_text(found.quantity, found.part)} of {found.part.name} went back to {found.supplier}."
