"""Receiving: a bag from a supplier, a donor unit's parts, a job's left-overs or a find become a lot in a bin."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.domain.buying import incoming_lifecycle
from inventory.domain.buying.bag_receipts import learn_from_receipt, serial_on_bag
from inventory.domain.catalogue.lots import TEXT_LIMITS
from inventory.domain.catalogue.picking import claim_bin
from inventory.domain.common import clock
from inventory.domain.common.code_factory import unused_code
from inventory.domain.common.errors import Conflict, Invalid, invalid_field
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import ActionResult, LotRecord, PieceRecord, from_row
from inventory.domain.common.validation import (
    LOT_ORIGINS,
    check_field_names,
    clean_text,
    get_row,
    validated_choice,
    validated_money,
    validated_quantity,
)
from inventory.store import ledger
from inventory.store.queries import filter_by
from inventory.store.tables import Bin, Job, Lot, Order, OrderLine, Part, Piece, Supplier
from shared.scanner_input import spell_separators

MAX_PIECES = 500


def receive(
    part_id: int, quantity: int, bin_id: int, *, origin: str = "delivery", by: int | None = None,
    supplier_id: int | None = None, order_line_id: int | None = None, job_id: int | None = None,
    cost_minor: int | None = None, best_before: date | None = None, donor_worked: bool | None = None, **texts: str,
) -> ActionResult:  # fmt: skip
    """Put *quantity* base units of a part into a bin as a new lot; each becomes a piece if it is kept so.

    *cost_minor* is for all of it; *texts* are origin_note, maker_lot, date_code, raw_code and note. Received
    against an order line, the lot takes its supplier and (unless given) its price. *donor_worked* says whether
    the unit that a donor's part came out of worked; left out, its pieces are trusted as from a dead one.
    """
    with ledger.ledger_transaction():
        part = get_row(Part, part_id, "part")
        if part.retired:
            raise Conflict(f"Part {part.number} is retired: bring it back into use first.", reason="part_retired")
        validated_quantity(quantity)
        bin_ = claim_bin(bin_id, part_id)
        columns = _validated_origin(part_id, quantity, origin, supplier_id, order_line_id, job_id, cost_minor, texts)
        lot = Lot.create(
            code=unused_code(Lot, "lot"),
            part=part_id,
            received=clock.now(),
            quantity=quantity,
            best_before=_validated_best_before(best_before),
            donor_worked=_validated_donor(donor_worked, origin),
            **columns,
        )
        if lot.raw_code:
            learn_from_receipt(lot, by)
        pieces = _create_pieces(part, lot, quantity)
        entry = ledger.append_lines(_ledger_lines(part, lot, bin_, quantity, pieces, by), clock.now())
        _count_towards_order(lot, quantity)
        to_test = incoming_lifecycle.open_after_receipt(lot, by)
    return ActionResult(
        entry,
        f"{quantity_text(quantity, part)} of {part.name} received into {bin_.name}.",
        part_id,
        quantity,
        bin_id,
        (lot.id,),
        tuple(p.id for p in pieces),
        made_lot=from_row(LotRecord, Lot.get_by_id(lot.id)),
        made_pieces=tuple(from_row(PieceRecord, Piece.get_by_id(p.id)) for p in pieces),
        warnings=(*_date_warnings(lot), *([to_test] if to_test else [])),
    )


def _validated_origin(
    part_id: int, quantity: int, origin: str, supplier_id: int | None, order_line_id: int | None,
    job_id: int | None, cost_minor: int | None, texts: dict[str, str],
) -> dict[str, Any]:  # fmt: skip
    check_field_names(texts, TEXT_LIMITS, "A lot has no {}.")
    if isinstance(texts.get("raw_code"), str):
        texts = {
            **texts,
            "raw_code": spell_separators(texts["raw_code"]),
        }  # its separators are no printable characters
    columns: dict[str, Any] = {
        n: clean_text(texts.get(n, ""), n.replace("_", " "), most) for n, most in TEXT_LIMITS.items()
    }
    columns["origin"] = validated_choice(origin, "origin", LOT_ORIGINS)
    if order_line_id is not None:
        line = _get_open_line(order_line_id, part_id)
        supplier_id = line.order.supplier_id
        cost_minor = _line_cost_share(line, quantity) if cost_minor is None else cost_minor
    for table, key, what in ((Supplier, supplier_id, "supplier"), (Job, job_id, "job")):
        if key is not None:
            get_row(table, key, what)
    if cost_minor is not None:
        validated_money(cost_minor, "cost_minor")
    return {
        **columns,
        "supplier": supplier_id,
        "order_line": order_line_id,
        "job_id": job_id,
        "cost_minor": cost_minor,
    }


def _line_cost_share(line: Any, quantity: int) -> int:
    """Return what *quantity* more cost, so that the parcels of a line add up to what the line cost."""
    so_far, then = (line.cost_minor * number // line.quantity for number in (line.received, line.received + quantity))
    return int(then - so_far)


def _get_open_line(order_line_id: int, part_id: int) -> OrderLine:
    line = get_row(OrderLine, order_line_id, "order line")
    if line.part_id != part_id:
        raise Conflict("That order line is for another part: choose the line of this part.", reason="other_part")
    if line.dropped or line.order.status != "placed":
        raise Conflict(f"Order {line.order.number} expects nothing on that line.", reason="order_not_open")
    return line


def _validated_best_before(day: date | None) -> date | None:
    if day is not None and not 2000 <= day.year <= 2100:
        raise Invalid(
            f"Best before {day} cannot be right: check the year.", errors={"best_before": ["check the year"]}
        )
    return day


def _validated_donor(worked: bool | None, origin: str) -> bool | None:
    if worked is None or (origin == "donor" and isinstance(worked, bool)):
        return worked
    sentence = "Whether the donor worked is yes or no, and only said of a lot that came from a donor."
    raise invalid_field("donor_worked", sentence)


def _create_pieces(part: Part, lot: Lot, quantity: int) -> list[Piece]:
    if part.kept != "individually":
        return []
    if quantity > MAX_PIECES:
        raise Invalid(f"Receive at most {MAX_PIECES} individually kept pieces at a time: split the delivery.")
    serial = serial_on_bag(lot.raw_code) if quantity == 1 and lot.raw_code else ""
    return [
        Piece.create(code=unused_code(Piece, "piece"), part=part.id, lot=lot.id, serial=serial, created=clock.now())
        for _ in range(quantity)
    ]


def _ledger_lines(
    part: Part, lot: Lot, bin_: Bin, quantity: int, pieces: list[Piece], by: int | None
) -> list[ledger.LedgerLine]:
    if not pieces:
        return [ledger.LedgerLine("receive", part.id, lot.id, bin_.id, quantity, person_id=by)]
    return [ledger.LedgerLine("receive", part.id, lot.id, bin_.id, 1, p.id, person_id=by) for p in pieces]


def _count_towards_order(lot: Lot, quantity: int) -> None:
    expected = lot.order_line
    if expected is None:
        return
    OrderLine.update(received=OrderLine.received + quantity).where(OrderLine.id == expected.id).execute()
    lines = filter_by(OrderLine, order=expected.order_id)
    done = all(line.dropped or line.received >= line.quantity for line in lines)
    closed = {"status": "received", "closed": clock.now()} if done else {}
    Order.update(**closed, version=Order.version + 1).where(Order.id == expected.order_id).execute()


def _date_warnings(lot: Lot) -> tuple[str, ...]:
    if lot.best_before is not None and lot.best_before < clock.today():
        return (f"This lot is past its date ({lot.best_before}): use it last, or scrap it.",)
    return ()
