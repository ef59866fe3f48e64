"""Orders: drafted line by line, placed with a supplier, received in as many parcels as it takes (see ``receive``)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from peewee import JOIN, IntegrityError, fn

from inventory.domain.buying.order_records import (
    ORDER_STATUSES,
    DeliveryRecord,
    NewOrderLine,
    OfferRecord,
    OrderLineRecord,
    OrderRecord,
)
from inventory.domain.buying.suppliers import offer_record
from inventory.domain.common import clock
from inventory.domain.common.code_factory import unused_code
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import PartRecord, ResultPage, from_row
from inventory.domain.common.validation import (
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
    validated_money,
    validated_quantity,
)
from inventory.domain.jobs.jobs import get_open_job
from inventory.reckoning.reorder.order_quantity import round_up_to_packs
from inventory.store import ledger
from inventory.store.connection import execute, transaction
from inventory.store.tables import Job, Lot, Offer, Order, OrderLine, Part, Person, Supplier

MAX_LINES = 500
MAX_EXPECTED_ORDERS = 100
_IS_OUTSTANDING: Any = ~OrderLine.dropped & (OrderLine.received < OrderLine.quantity)


def draft_order(
    supplier_id: int, lines: Sequence[NewOrderLine] = (), *, number: str = "", reference: str = "", note: str = "",
    shipping_minor: int | None = None, by: int | None = None,
) -> OrderRecord:  # fmt: skip
    """Create a draft order. Left out, its *number* is the next free one, its shipping the supplier's."""
    with transaction():
        supplier = get_row(Supplier, supplier_id, "supplier")
        if not supplier.active:
            raise Conflict(f"{supplier.name} is no longer bought from: choose another supplier.", reason="not_active")
        texts = _validated_texts(number=number or _next_number(), reference=reference, note=note)
        shipping = (
            supplier.shipping_minor if shipping_minor is None else validated_money(shipping_minor, "shipping_minor")
        )
        try:
            row = Order.create(
                code=unused_code(Order, "order"), supplier=supplier_id, status="draft", created=clock.now(),
                person=by, shipping_minor=shipping, **texts,
            )  # fmt: skip
        except IntegrityError:
            raise _number_taken(texts["number"]) from None
        for line in lines:
            _add_line(row, line)
        return order(row.id)


def edit_order(order_id: int, version: int | None = None, **changes: Any) -> OrderRecord:
    """Change an order's number, reference, note, shipping_minor or the day it is expected."""
    with transaction():
        row = get_row(Order, order_id, "order")
        texts_before: dict[str, Any] = {name: getattr(row, name) for name in ("number", "reference", "note")}
        dates = {"expected": row.expected, "shipping_minor": row.shipping_minor}
        unknown = set(changes) - set(texts_before) - set(dates)
        if unknown:
            raise Invalid(
                f"An order has no {', '.join(sorted(unknown))}.", errors={name: ["unknown"] for name in unknown}
            )
        texts = _validated_texts(**{name: changes.get(name, value) for name, value in texts_before.items()})
        shipping = validated_money(changes.get("shipping_minor", row.shipping_minor), "shipping_minor")
        expected = _validated_day(changes.get("expected", row.expected))
        try:
            update_versioned(row, "order", version, **texts, shipping_minor=shipping, expected=expected)
        except IntegrityError:
            raise _number_taken(texts["number"]) from None
        return order(order_id)


def add_line(order_id: int, line: NewOrderLine, version: int | None = None) -> OrderRecord:
    """Add a line to a draft."""
    with transaction():
        row = _require_draft(order_id)
        _add_line(row, line)
        update_versioned(row, "order", version)
        return order(order_id)


def edit_line(
    line_id: int, version: int | None = None, *, quantity: int | None = None, cost_minor: int | None = None
) -> OrderRecord:
    """Change how many of a part a draft asks for, or (until it is received) what a line costs.

    A new quantity without a cost takes the offer's price. *version* is the order's.
    """
    with transaction():
        row = get_row(OrderLine, line_id, "order line")
        if quantity is not None:
            _require_draft(row.order_id)
            _require_whole_packs(row.offer, validated_quantity(quantity), row.part)
        elif row.order.status not in ("draft", "placed"):
            raise Conflict(f"Order {row.order.number} is {row.order.status}: it stays as it is.")
        new_quantity = row.quantity if quantity is None else quantity
        cost = _line_cost(row.offer, new_quantity, cost_minor, row.cost_minor)
        OrderLine.update(quantity=new_quantity, cost_minor=cost).where(OrderLine.id == line_id).execute()
        update_versioned(row.order, "order", version)
        return order(row.order_id)


def place_order(
    order_id: int, version: int | None = None, *, expected: date | None = None, reference: str | None = None,
    by: int | None = None,
) -> OrderRecord:  # fmt: skip
    """Mark a draft as sent to its supplier. Left out, *expected* is today and the longest stated lead time."""
    with transaction():
        row = _require_draft(order_id)
        lines = list(OrderLine.select().where(OrderLine.order == order_id, ~OrderLine.dropped))
        if not lines:
            raise Conflict("An order needs a part on it: add one first.", reason="empty")
        changes: dict[str, Any] = {} if reference is None else {"reference": clean_text(reference, "reference", 80)}
        if by is not None:
            changes["person"] = get_row(Person, by, "person").id
        day = _validated_day(expected) or clock.today() + timedelta(
            days=max(_stated_lead_days(line) for line in lines)
        )
        update_versioned(row, "order", version, status="placed", placed=clock.now(), expected=day, **changes)
        return order(order_id)


def drop_line(line_id: int, version: int | None = None) -> OrderRecord:
    """Delete a line of a draft; of a placed order, drop what is still to come. *version* is the order's."""
    with ledger.ledger_transaction():  # a parcel of it may be coming in at this moment
        line = get_row(OrderLine, line_id, "order line")
        order_row = get_row(Order, line.order_id, "order")
        if order_row.status not in ("draft", "placed") or line.dropped:
            raise Conflict(f"Order {order_row.number} expects nothing on that line.", reason="order_not_open")
        if order_row.status == "draft":
            OrderLine.delete().where(OrderLine.id == line_id).execute()
        else:
            OrderLine.update(dropped=True).where(OrderLine.id == line_id).execute()
        update_versioned(order_row, "order", version, **_closing_columns(order_row))
        return order(order_row.id)


def cancel_order(order_id: int, version: int | None = None) -> OrderRecord:
    """Drop what is still to come: cancelled when nothing came, else received as far as it was."""
    with ledger.ledger_transaction():
        row = get_row(Order, order_id, "order")
        if row.status not in ("draft", "placed"):
            raise Conflict(
                f"Order {row.number} is {row.status}: there is nothing to cancel.", reason="order_not_open"
            )
        OrderLine.update(dropped=True).where(OrderLine.order == order_id, _IS_OUTSTANDING).execute()
        any_received = _anything_received(order_id)
        update_versioned(
            row, "order", version, status="received" if any_received else "cancelled", closed=clock.now()
        )
        return order(order_id)


def restore_expected_quantity(line_id: int, quantity: int) -> tuple[str, ...]:
    """Expect *quantity* again on a line whose receipt was undone; return warnings, if any.

    A dropped line still expects nothing. Call it inside ``ledger.ledger_transaction``.
    """
    OrderLine.update(received=OrderLine.received - quantity).where(OrderLine.id == line_id).execute()
    line = get_row(OrderLine, line_id, "order line")
    order_row = get_row(Order, line.order_id, "order")
    update_versioned(
        order_row, "order", None, **(_closing_columns(order_row) or {"status": "placed", "closed": None})
    )
    if not line.dropped:
        return ()
    return (f"Order {order_row.number} expects nothing more on that line: what does come is received without it.",)


def order(order_id: int) -> OrderRecord:
    """Return one order with its lines."""
    get_row(Order, order_id, "order")
    return _records([_with_names().where(Order.id == order_id).get()])[0]


def order_of_line(line_id: int) -> OrderRecord:
    """Return the order that a line is on."""
    return order(get_row(OrderLine, line_id, "order line").order_id)


def order_line(line_id: int) -> OrderLineRecord:
    """Return one line of an order."""
    return next(line for line in order_of_line(line_id).lines if line.id == line_id)


def orders(
    *, status: str | None = None, supplier_id: int | None = None, part_id: int | None = None,
    after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return orders with their lines, newest first."""
    query = _with_names()
    if status:
        query = query.where(Order.status == validated_choice(status, "status", ORDER_STATUSES))
    if supplier_id is not None:
        query = query.where(Order.supplier == supplier_id)
    if part_id is not None:
        query = query.where(Order.id.in_(OrderLine.select(OrderLine.order).where(OrderLine.part == part_id)))
    page = paginate(query, Order.id, after, limit, lambda row: row, descending=True)
    return ResultPage(_records(page.items), page.next)


def late_orders() -> list[OrderRecord]:
    """Return placed orders whose day has passed, latest first."""
    query = _with_names().where(Order.status == "placed", Order.expected < clock.today().isoformat())
    return _records(query.order_by(Order.expected, Order.id))


def open_order_lines(part_id: int) -> list[OrderLineRecord]:
    """Return the lines on which a part is still to come, by line."""
    under_way = Order.select(Order.id).where(Order.status == "placed")
    return _line_records((OrderLine.part == part_id) & OrderLine.order.in_(under_way) & _IS_OUTSTANDING)


@dataclass(frozen=True)
class ExpectedDelivery:
    """A line on which something is still to come, with its order."""

    order: OrderRecord
    line: OrderLineRecord


def expected_deliveries(part_id: int | None = None) -> list[ExpectedDelivery]:
    """Return what is still to come of a part (None: of every part) on placed orders, the soonest first."""
    placed = orders(status="placed", part_id=part_id, limit=MAX_EXPECTED_ORDERS).items
    return [
        ExpectedDelivery(order, line)
        for order in sorted(placed, key=lambda order: (order.expected is None, order.expected, order.id))
        for line in order.lines
        if line.outstanding and part_id in (None, line.part.id)
    ]


def deliveries(order_id: int) -> list[DeliveryRecord]:
    """Return the lots that came in on an order, in the order in which they came; those undone are left out."""
    row = get_row(Order, order_id, "order")
    query = (
        Lot.select(Lot, OrderLine).join(OrderLine)
        .where(OrderLine.order == order_id, Lot.id.not_in(undone_lot_ids())).order_by(Lot.received, Lot.id)
    )  # fmt: skip
    return [
        DeliveryRecord(
            lot.id, lot.code, lot.order_line_id, lot.part_id, lot.quantity, lot.received,
            max(0, (lot.received - row.placed).days) if row.placed else 0,
        )
        for lot in query
    ]  # fmt: skip


UNDONE_LOTS_SQL = (
    "SELECT m.lot_id FROM movements r JOIN movements m ON m.id = r.reverses_id"
    " WHERE r.reverses_id IS NOT NULL AND m.kind = 'receive'"
)


def undone_lot_ids() -> list[int]:
    """Return the lots whose receipt was undone."""
    return [int(lot) for (lot,) in execute(UNDONE_LOTS_SQL).fetchall()]


# ---- checks ----------------------------------------------------------------------------------------------


def _require_draft(order_id: int) -> Order:
    row = get_row(Order, order_id, "order")
    if row.status != "draft":
        raise Conflict(
            f"Order {row.number} is {row.status}: drop a line of it, or begin another order.",
            reason="not_a_draft",
        )
    return row


def _add_line(order: Order, line: NewOrderLine) -> None:
    part = get_row(Part, line.part_id, "part")
    quantity = validated_quantity(line.quantity)
    if OrderLine.select().where(OrderLine.order == order.id, ~OrderLine.dropped).count() >= MAX_LINES:
        raise Conflict(f"An order has at most {MAX_LINES} lines: begin another order.", reason="too_many_lines")
    if line.job_id is not None:
        get_open_job(line.job_id)
    if _has_line(order, line):
        raise Conflict(f"{part.name} is on this order already: change how many there.", reason="taken")
    offer = _choose_offer(order, line)
    _require_whole_packs(offer, quantity, part)
    OrderLine.create(
        order=order.id, part=part.id, offer=offer.id if offer else None, quantity=quantity, job_id=line.job_id,
        cost_minor=_line_cost(offer, quantity, line.cost_minor, 0),
    )  # fmt: skip


def _has_line(order: Order, line: NewOrderLine) -> bool:
    job = OrderLine.job_id.is_null() if line.job_id is None else OrderLine.job_id == line.job_id
    duplicates = OrderLine.select().where(
        OrderLine.order == order.id, OrderLine.part == line.part_id, ~OrderLine.dropped, job
    )
    return bool(duplicates.exists())


def _choose_offer(order: Order, line: NewOrderLine) -> Any:
    """Return the offer that a new line is bought by: the one named, else this supplier's preferred or cheapest."""
    if line.offer_id is not None:
        offer = get_row(Offer, line.offer_id, "offer")
        if (offer.part_id, offer.supplier_id) != (line.part_id, order.supplier_id):
            raise Conflict("That offer is another supplier's or another part's: choose one of this order's.")
        return offer
    offers = list(Offer.select().where(Offer.part == line.part_id, Offer.supplier == order.supplier_id, Offer.active))
    fitting = [offer for offer in offers if line.quantity % offer.pack == 0 and line.quantity >= offer.minimum]
    by_cost = sorted(fitting or offers, key=lambda o: (not o.preferred, offer_record(o).cost_of(line.quantity), o.id))
    return by_cost[0] if by_cost else None


def _require_whole_packs(offer: Any, quantity: int, part: Part) -> None:
    if offer is None:
        return
    least = round_up_to_packs(max(quantity, offer.minimum), offer.pack)
    if least == quantity:
        return
    terms = f"in packs of {quantity_text(offer.pack, part)}" if offer.pack > 1 else "in any number"
    if offer.minimum > 1:
        terms += f", at least {quantity_text(offer.minimum, part)}"
    sentence = f"{offer.supplier.name} sells {part.name} {terms}: order {quantity_text(least, part)}."
    raise Invalid(sentence, reason="not_whole_packs", errors={"quantity": [sentence]}, least=least)


def _line_cost(offer: Any, quantity: int, cost_minor: int | None, default: int) -> int:
    if cost_minor is not None:
        return validated_money(cost_minor, "cost_minor")
    return default if offer is None else offer_record(offer).cost_of(quantity)


def _stated_lead_days(line: OrderLine) -> int:
    lead_days = line.offer.lead_days if line.offer else None
    return int(line.order.supplier.lead_days if lead_days is None else lead_days)


def _closing_columns(order: Order) -> dict[str, Any]:
    """Return the columns that close a placed order on which nothing is still to come, else none."""
    outstanding = OrderLine.select().where(OrderLine.order == order.id, _IS_OUTSTANDING)
    if order.status == "draft" or outstanding.exists():
        return {}
    return {"status": "received" if _anything_received(order.id) else "cancelled", "closed": clock.now()}


def _anything_received(order_id: int) -> bool:
    return bool(OrderLine.select().where(OrderLine.order == order_id, OrderLine.received > 0).exists())


def _validated_texts(*, number: str, reference: str, note: str) -> dict[str, str]:
    return {
        "number": clean_text(number, "number", 30, required=True),
        "reference": clean_text(reference, "reference", 80),
        "note": clean_text(note, "note", 5000),
    }


def _next_number() -> str:
    return f"O{1000 + (Order.select(fn.MAX(Order.id)).scalar() or 0) + 1}"


def _number_taken(number: str) -> Conflict:
    return Conflict(f"There is an order {number} already: choose another number.", reason="taken")


def _validated_day(day: Any) -> date | None:
    if day is not None and (not isinstance(day, date) or not 2000 <= day.year <= 2100):
        sentence = f"The day {day} cannot be right: write one such as {clock.today()}."
        raise Invalid(sentence, errors={"expected": [sentence]})
    return day


# ---- records ---------------------------------------------------------------------------------------------


def _with_names() -> Any:
    return Order.select(Order, Supplier, Person).join(Supplier).switch(Order).join(Person, JOIN.LEFT_OUTER)


def _records(query: Iterable[Any]) -> list[OrderRecord]:
    rows = list(query)
    lines: dict[int, list[OrderLineRecord]] = {row.id: [] for row in rows}
    for line in _line_records(OrderLine.order.in_(list(lines))):
        lines[line.order_id].append(line)
    return [_record(row, tuple(lines[row.id])) for row in rows]


def _record(row: Any, lines: tuple[OrderLineRecord, ...]) -> OrderRecord:
    awaited = row.status == "placed" and row.expected is not None
    return from_row(
        OrderRecord, row, supplier=row.supplier.name, person=row.person.shown_as if row.person_id else "",
        lines=lines, days_late=max(0, (clock.today() - row.expected).days) if awaited else 0,
    )  # fmt: skip


def _line_records(condition: Any) -> list[OrderLineRecord]:
    query = (
        OrderLine.select(OrderLine, Part, Offer).join(Part).switch(OrderLine).join(Offer, JOIN.LEFT_OUTER)
        .where(condition).order_by(OrderLine.id)
    )  # fmt: skip
    rows = list(query)
    job_ids = {row.job_id for row in rows if row.job_id}
    numbers = {job.id: job.number for job in Job.select().where(Job.id.in_(job_ids))} if job_ids else {}
    return [_line_record(row, numbers) for row in rows]


def _line_record(row: Any, job_numbers: dict[int, str]) -> OrderLineRecord:
    offer: OfferRecord | Any = row.offer if row.offer_id else None
    return from_row(
        OrderLineRecord, row, part=from_row(PartRecord, row.part), pack=offer.pack if offer else 1,
        supplier_number=offer.supplier_number if offer else "", job_number=job_numbers.get(row.job_id, ""),
    )  # fmt: skip
