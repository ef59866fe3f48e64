"""Orders: drafted line by line, placed with a supplier, received in as many parcels as it takes (see ``receive``)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from peewee import JOIN, IntegrityError, fn

from inventory.domain.buying.order_records import (
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
    check_field_names,
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
    validated_money,
    validated_quantity,
)
from inventory.domain.jobs.jobs import get_open_job
from inventory.store import ledger
from inventory.store.connection import execute, transaction
from inventory.store.tables import Job, Lot, Offer, Order, OrderLine, Part, Person, Supplier

ORDER_STATUSES = ("draft", "placed", "received", "cancelled")
MAX_LINES = 500


def draft_order(
    supplier_id: int, lines: Sequence[NewOrderLine] = (), *, number: str = "", reference: str = "", note: str = "",
    shipping_minor: int | None = None, by: int | None = None,
) -> OrderRecord:  # fmt: skip
    """Begin an order with a supplier. Left out, its *number* is the next one, its shipping the supplier's."""
    with transaction():
        seller = get_row(Supplier, supplier_id, "supplier")
        if not seller.active:
            raise Conflict(f"{seller.name} is no longer bought from: choose another supplier.", reason="not_active")
        texts = _validated_texts(number=number or _next_number(), reference=reference, note=note)
        shipping = (
            seller.shipping_minor if shipping_minor is None else validated_money(shipping_minor, "shipping_minor")
        )
        try:
            made = Order.create(
                code=unused_code(Order, "order"),
                supplier=supplier_id,
                status="draft",
                created=clock.now(),
                person=by,
                shipping_minor=shipping,
                **texts,
            )
        except IntegrityError:
            raise _number_taken(texts["number"]) from None
        for line in lines:
            _add_line(made, line)
        return order(made.id)


def edit_order(order_id: int, version: int | None = None, **changes: Any) -> OrderRecord:
    """Change an order's number, reference, note, shipping_minor or the day it is expected."""
    with transaction():
        found = get_row(Order, order_id, "order")
        given: dict[str, Any] = {n: getattr(found, n) for n in ("number", "reference", "note")}
        dates = {"expected": found.expected, "shipping_minor": found.shipping_minor}
        check_field_names(changes, (*given, *dates), "An order has no {}.")
        texts = _validated_texts(**{n: changes.get(n, value) for n, value in given.items()})
        shipping = validated_money(changes.get("shipping_minor", found.shipping_minor), "shipping_minor")
        expected = _validated_day(changes.get("expected", found.expected))
        try:
            update_versioned(found, "order", version, **texts, shipping_minor=shipping, expected=expected)
        except IntegrityError:
            raise _number_taken(texts["number"]) from None
        return order(order_id)


def add_line(order_id: int, line: NewOrderLine, version: int | None = None) -> OrderRecord:
    """Put a part on a draft."""
    with transaction():
        found = _require_draft(order_id)
        _add_line(found, line)
        update_versioned(found, "order", version)
        return order(order_id)


def edit_line(
    line_id: int, version: int | None = None, *, quantity: int | None = None, cost_minor: int | None = None
) -> OrderRecord:
    """Change how many of a part a draft asks for, or (until it is received) what a line costs.

    A new quantity without a cost takes the offer's price. *version* is the order's.
    """
    with transaction():
        found = get_row(OrderLine, line_id, "order line")
        if quantity is not None:
            _require_draft(found.order_id)
            _require_whole_packs(found.offer, validated_quantity(quantity), found.part)
        elif found.order.status not in ("draft", "placed"):
            raise Conflict(f"Order {found.order.number} is {found.order.status}: it stays as it is.")
        wanted = found.quantity if quantity is None else quantity
        cost = _line_cost(found.offer, wanted, cost_minor, found.cost_minor)
        OrderLine.update(quantity=wanted, cost_minor=cost).where(OrderLine.id == line_id).execute()
        update_versioned(found.order, "order", version)
        return order(found.order_id)


def place_order(
    order_id: int, version: int | None = None, *, expected: date | None = None, reference: str | None = None,
    by: int | None = None,
) -> OrderRecord:  # fmt: skip
    """Note that a draft was sent to its supplier. Left out, *expected* is today and the longest stated lead time."""
    with transaction():
        found = _require_draft(order_id)
        lines = list(OrderLine.select().where(OrderLine.order == order_id, ~OrderLine.dropped))
        if not lines:
            raise Conflict("An order needs a part on it: add one first.", reason="empty")
        changes: dict[str, Any] = {} if reference is None else {"reference": clean_text(reference, "reference", 80)}
        if by is not None:
            changes["person"] = get_row(Person, by, "person").id
        day = _validated_day(expected) or clock.today() + timedelta(
            days=max(_stated_lead_days(line) for line in lines)
        )
        update_versioned(found, "order", version, status="placed", placed=clock.now(), expected=day, **changes)
        return order(order_id)


def drop_line(line_id: int, version: int | None = None) -> OrderRecord:
    """Take a part off a draft; of a placed order, expect no more of it. *version* is the order's."""
    with ledger.ledger_transaction():  # a parcel of it may be coming in at this moment
        line = get_row(OrderLine, line_id, "order line")
        found = get_row(Order, line.order_id, "order")
        if found.status not in ("draft", "placed") or line.dropped:
            raise Conflict(f"Order {found.number} expects nothing on that line.", reason="order_not_open")
        if found.status == "draft":
            OrderLine.delete().where(OrderLine.id == line_id).execute()
        else:
            OrderLine.update(dropped=True).where(OrderLine.id == line_id).execute()
        update_versioned(found, "order", version, **_closing_columns(found))
        return order(found.id)


def cancel_order(order_id: int, version: int | None = None) -> OrderRecord:
    """Expect nothing more of an order: cancelled when nothing came, else received as far as it was."""
    with ledger.ledger_transaction():
        found = get_row(Order, order_id, "order")
        if found.status not in ("draft", "placed"):
            raise Conflict(
                f"Order {found.number} is {found.status}: there is nothing to cancel.", reason="order_not_open"
            )
        OrderLine.update(dropped=True).where(
            OrderLine.order == order_id, OrderLine.received < OrderLine.quantity
        ).execute()
        came = _anything_received(order_id)
        update_versioned(found, "order", version, status="received" if came else "cancelled", closed=clock.now())
        return order(order_id)


def restore_expected_quantity(line_id: int, quantity: int) -> tuple[str, ...]:
    """Let a line expect *quantity* again, whose receipt was undone; return what to mind, if anything.

    A line that was dropped expects nothing all the same. Call it inside ``ledger.writing_lines``.
    """
    OrderLine.update(received=OrderLine.received - quantity).where(OrderLine.id == line_id).execute()
    line = get_row(OrderLine, line_id, "order line")
    found = get_row(Order, line.order_id, "order")
    update_versioned(found, "order", None, **(_closing_columns(found) or {"status": "placed", "closed": None}))
    if not line.dropped:
        return ()
    return (f"Order {found.number} expects nothing more on that line: what does come is received without it.",)


def order(order_id: int) -> OrderRecord:
    """Return one order with its lines."""
    get_row(Order, order_id, "order")
    return _records([_with_names().where(Order.id == order_id).get()])[0]


def order_of_line(line_id: int) -> OrderRecord:
    """Return the order that a line is on."""
    return order(get_row(OrderLine, line_id, "order line").order_id)


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
    page = paginate(query, Order.id, after, limit, lambda one: one, descending=True)
    return ResultPage(_records(page.items), page.next)


def late_orders() -> list[OrderRecord]:
    """Return placed orders whose day has passed, latest first."""
    query = _with_names().where(Order.status == "placed", Order.expected < clock.today().isoformat())
    return _records(query.order_by(Order.expected, Order.id))


def open_order_lines(part_id: int) -> list[OrderLineRecord]:
    """Return the lines on which a part is still to come, by line."""
    under_way = Order.select(Order.id).where(Order.status == "placed")
    outstanding = ~OrderLine.dropped & (OrderLine.received < OrderLine.quantity)
    return _line_records((OrderLine.part == part_id) & OrderLine.order.in_(under_way) & outstanding)


def deliveries(order_id: int) -> list[DeliveryRecord]:
    """Return the lots that came in on an order, in the order in which they came; those undone are left out."""
    found = get_row(Order, order_id, "order")
    query = (
        Lot.select(Lot, OrderLine).join(OrderLine)
        .where(OrderLine.order == order_id, Lot.id.not_in(undone_lot_ids())).order_by(Lot.received, Lot.id)
    )  # fmt: skip
    return [
        DeliveryRecord(
            lot.id, lot.code, lot.order_line_id, lot.part_id, lot.quantity, lot.received,
            max(0, (lot.received - found.placed).days) if found.placed else 0,
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
    found = get_row(Order, order_id, "order")
    if found.status != "draft":
        raise Conflict(
            f"Order {found.number} is {found.status}: drop a line of it, or begin another order.",
            reason="not_a_draft",
        )
    return found


def _add_line(found: Order, line: NewOrderLine) -> None:
    part = get_row(Part, line.part_id, "part")
    quantity = validated_quantity(line.quantity)
    if OrderLine.select().where(OrderLine.order == found.id, ~OrderLine.dropped).count() >= MAX_LINES:
        raise Conflict(f"An order has at most {MAX_LINES} lines: begin another order.", reason="too_many_lines")
    if line.job_id is not None:
        get_open_job(line.job_id)
    if _has_line(found, line):
        raise Conflict(f"{part.name} is on this order already: change how many there.", reason="taken")
    offered = _choose_offer(found, line)
    _require_whole_packs(offered, quantity, part)
    OrderLine.create(
        order=found.id, part=part.id, offer=offered.id if offered else None, quantity=quantity, job_id=line.job_id,
        cost_minor=_line_cost(offered, quantity, line.cost_minor, 0),
    )  # fmt: skip


def _has_line(found: Order, line: NewOrderLine) -> bool:
    job = OrderLine.job_id.is_null() if line.job_id is None else OrderLine.job_id == line.job_id
    same = OrderLine.select().where(
        OrderLine.order == found.id, OrderLine.part == line.part_id, ~OrderLine.dropped, job
    )
    return bool(same.exists())


def _choose_offer(found: Order, line: NewOrderLine) -> Any:
    """Return the offer that a new line is bought by: the one named, else this supplier's preferred or cheapest."""
    if line.offer_id is not None:
        named = get_row(Offer, line.offer_id, "offer")
        if (named.part_id, named.supplier_id) != (line.part_id, found.supplier_id):
            raise Conflict("That offer is another supplier's or another part's: choose one of this order's.")
        return named
    own = list(Offer.select().where(Offer.part == line.part_id, Offer.supplier == found.supplier_id, Offer.active))
    fitting = [one for one in own if line.quantity % one.pack == 0 and line.quantity >= one.minimum]
    by_cost = sorted(fitting or own, key=lambda o: (not o.preferred, offer_record(o).cost_of(line.quantity), o.id))
    return by_cost[0] if by_cost else None


def _require_whole_packs(offered: Any, quantity: int, part: Part) -> None:
    if offered is None:
        return
    least = -(-max(quantity, offered.minimum) // offered.pack) * offered.pack
    if least == quantity:
        return
    sold = f"in packs of {quantity_text(offered.pack, part)}" if offered.pack > 1 else "in any number"
    if offered.minimum > 1:
        sold += f", at least {quantity_text(offered.minimum, part)}"
    sentence = f"{offered.supplier.name} sells {part.name} {sold}: order {quantity_text(least, part)}."
    raise Invalid(sentence, reason="not_whole_packs", errors={"quantity": [sentence]}, least=least)


def _line_cost(offered: Any, quantity: int, given: int | None, otherwise: int) -> int:
    if given is not None:
        return validated_money(given, "cost_minor")
    return otherwise if offered is None else offer_record(offered).cost_of(quantity)


def _stated_lead_days(line: OrderLine) -> int:
    own = line.offer.lead_days if line.offer else None
    return int(line.order.supplier.lead_days if own is None else own)


def _closing_columns(found: Order) -> dict[str, Any]:
    """Return what becomes of a placed order when no line is still to come (nothing, while one is)."""
    waiting = OrderLine.select().where(
        OrderLine.order == found.id, ~OrderLine.dropped, OrderLine.received < OrderLine.quantity
    )
    if found.status == "draft" or waiting.exists():
        return {}
    return {"status": "received" if _anything_received(found.id) else "cancelled", "closed": clock.now()}


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


def _records(found: Iterable[Any]) -> list[OrderRecord]:
    rows = list(found)
    lines: dict[int, list[OrderLineRecord]] = {row.id: [] for row in rows}
    for line in _line_records(OrderLine.order.in_(list(lines))):
        lines[line.order_id].append(line)
    return [_record(row, tuple(lines[row.id])) for row in rows]


def _record(found: Any, lines: tuple[OrderLineRecord, ...]) -> OrderRecord:
    waiting = found.status == "placed" and found.expected is not None
    return from_row(
        OrderRecord, found, supplier=found.supplier.name, person=found.person.shown_as if found.person_id else "",
        lines=lines, days_late=max(0, (clock.today() - found.expected).days) if waiting else 0,
    )  # fmt: skip


def _line_records(which: Any) -> list[OrderLineRecord]:
    rows = (
        OrderLine.select(OrderLine, Part, Offer).join(Part).switch(OrderLine).join(Offer, JOIN.LEFT_OUTER)
        .where(which).order_by(OrderLine.id)
    )  # fmt: skip
    found = list(rows)
    wanted = {one.job_id for one in found if one.job_id}
    numbers = {job.id: job.number for job in Job.select().where(Job.id.in_(wanted))} if wanted else {}
    return [_line_record(one, numbers) for one in found]


def _line_record(one: Any, job_numbers: dict[int, str]) -> OrderLineRecord:
    offered: OfferRecord | Any = one.offer if one.offer_id else None
    return from_row(
        OrderLineRecord, one, part=from_row(PartRecord, one.part), pack=offered.pack if offered else 1,
        supplier_number=offered.supplier_number if offered else "", job_number=job_numbers.get(one.job_id, ""),
    )  # fmt: skip
