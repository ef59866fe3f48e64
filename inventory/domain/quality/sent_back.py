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
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import ActionResult, LotRecord, PartRecord, ResultPage, from_row
from inventory.domain.common.validation import (
    MAX_QUANTITY,
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
    validated_money,
)
from inventory.domain.movements import adjustments
from inventory.domain.quality import recall
from inventory.domain.quality.sent_back_records import RETURN_CAUSES, MoneyBack, SentBackRecord
from inventory.store import ledger
from inventory.store.connection import execute, transaction
from inventory.store.job_use import STANDS, undone_lines
from inventory.store.tables import Lot, Movement, Part, Person, SentBack, Supplier

TEXT_LIMITS = text_limits(SentBackRecord)


def send_back(
    quantity: int = 1, *, cause: str, bin_id: int | None = None, lot_id: int | None = None,
    piece_id: int | None = None, supplier_id: int | None = None, expected_minor: int | None = None,
    reference: str = "", note: str = "", by: int | None = None,
) -> tuple[SentBackRecord, ActionResult]:  # fmt: skip
    """Send loose units of a lot (on hold or not), or one piece, back to the supplier of the lot, or to another.

    *cause* is one of RETURN_CAUSES. *expected_minor* is the money asked for it (None: what it had cost,
    if that is known). Raises Invalid when nobody is known to have supplied it, Conflict when so much is not there.
    """
    validated_choice(cause, "cause", RETURN_CAUSES)
    with ledger.ledger_transaction():
        reason = f"sent back: {cause}"
        done = adjustments.scrap(quantity, reason=reason, bin_id=bin_id, lot_id=lot_id, piece_id=piece_id, by=by)
        record = _store_sent_back(done, cause, supplier_id, expected_minor, reference, note, by)
    return record, done


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
        record = _store_sent_back(done, cause, supplier_id, expected_minor, reference, note, by)
    return record, done


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
    row = SentBack.create(
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
    return sent_back(row.id)


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
        row = _require_in_force(sent_back_id)
        update_versioned(
            row,
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
    unknown = set(changes) - {"expected_minor", *TEXT_LIMITS}
    if unknown:
        sentence = f"{', '.join(sorted(unknown))} cannot be changed: undo the entry, and send it back again."
        raise Invalid(sentence, errors={name: ["fixed"] for name in unknown})
    values = {
        name: clean_text(value, name, TEXT_LIMITS[name]) if name in TEXT_LIMITS else value
        for name, value in changes.items()
    }
    if values.get("expected_minor") is not None:
        validated_money(values["expected_minor"], "expected_minor", MAX_QUANTITY)
    with transaction():
        update_versioned(_require_in_force(sent_back_id), "note of what was sent back", version, **values)
        return sent_back(sent_back_id)


def _require_in_force(sent_back_id: int) -> Any:
    row = get_row(SentBack, sent_back_id, "thing sent back")
    if _undone_entries([row.entry]):
        raise Conflict("That was undone: it never left the shelf.", reason="undone")
    return row


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
        waiting = SentBack.settled.is_null() & SentBack.entry.not_in(undone_lines())
        query = query.where(waiting if waits else ~waiting)
    page = paginate(query, SentBack.id, after, limit, lambda row: row, descending=True)
    return ResultPage(_records(page.items), page.next)


def money_back() -> MoneyBack:
    """Return how much is expected back from suppliers, and how much came, by now."""
    sql = (
        "SELECT COUNT(*), COALESCE(SUM(expected_minor), 0), SUM(CASE WHEN expected_minor IS NULL THEN 1 ELSE 0 END),"
        " COALESCE(SUM(got_minor), 0)"
        f" FROM sent_back s JOIN movements m ON m.id = s.entry WHERE {STANDS} AND settled IS"
    )
    waiting, expected, without, _ = execute(f"{sql} NULL").fetchone()
    settled, _, _, got = execute(f"{sql} NOT NULL").fetchone()
    return MoneyBack(int(waiting), int(expected), int(without or 0), int(settled), int(got))


def _undone_entries(entries: Iterable[int]) -> set[int]:
    return {row.reverses_id for row in undone_lines().where(Movement.reverses << list(entries))}


def _with_names() -> Any:
    settler = Person.alias()
    return (
        SentBack.select(SentBack, Lot, Part, Supplier, Person, settler)
        .join(Lot).join(Part).switch(SentBack).join(Supplier)
        .switch(SentBack).join(Person, JOIN.LEFT_OUTER, on=SentBack.person)
        .switch(SentBack).join(settler, JOIN.LEFT_OUTER, on=(SentBack.settled_by == settler.id), attr="settler")
    )  # fmt: skip


def _records(rows: Iterable[Any]) -> list[SentBackRecord]:
    sent = list(rows)
    undone = _undone_entries(row.entry for row in sent)
    return [_record(row, row.entry in undone) for row in sent]


def _record(row: Any, undone: bool) -> SentBackRecord:
    return from_row(
        SentBackRecord, row, lot=from_row(LotRecord, row.lot), part=from_row(PartRecord, row.lot.part),
        supplier=row.supplier.name, person=row.person.shown_as if row.person_id else "",
        settled_by=row.settler.shown_as if row.settled_by_id else "", undone=undone,
    )  # fmt: skip


def describe_sent_back(record: SentBackRecord) -> str:
    """Say what went where."""
    return f"{quantity_text(record.quantity, record.part)} of {record.part.name} went back to {record.supplier}."
