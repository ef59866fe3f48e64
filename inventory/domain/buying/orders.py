"""Orders: drafted line by line, placed with a supplier, received in as many parcels as it takes (see ``receive``)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from peewee import JOIN, IntegrityError, fn

from inventory.domain.buying.order_records import DeliveryRecord, NewLine, OfferRecord, OrderLineRecord, OrderRecord
from inventory.domain.buying.suppliers import offer_record
from inventory.domain.common import clock
from inventory.domain.common.code_factory import fresh_code
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import page_of
from inventory.domain.common.quantity_text import amount
from inventory.domain.common.records import Page, PartRecord, read
from inventory.domain.common.validation import clean, edit, one_of, row, whole_money, whole_quantity
from inventory.domain.jobs.jobs import open_job
from inventory.store import ledger
from inventory.store.connection import run, writing
from inventory.store.tables import Job, Lot, Offer, Order, OrderLine, Part, Person, Supplier

STATUSES = ("draft", "placed", "received", "cancelled")
MOST_LINES = 500


def draft_order(
    supplier_id: int, lines: Sequence[NewLine] = (), *, number: str = "", reference: str = "", note: str = "",
    shipping_minor: int | None = None, by: int | None = None,
) -> OrderRecord:  # fmt: skip
    """Begin an order with a supplier. Left out, its *number* is the next one, its shipping the supplier's."""
    with writing():
        seller = row(Supplier, supplier_id, "supplier")
        if not seller.active:
            raise Conflict(f"{seller.name} is no longer bought from: choose another supplier.", reason="not_active")
        texts = _checked_texts(number=number or _next_number(), reference=reference, note=note)
        shipping = seller.shipping_minor if shipping_minor is None else whole_money(shipping_minor, "shipping_minor")
        try:
            made = Order.create(
                code=fresh_code(Order, "order"), supplier=supplier_id, status="draft", created=clock.now(), person=by,
                shipping_minor=shipping, **texts,
            )  # fmt: skip
        except IntegrityError:
            raise _number_taken(texts["number"]) from None
        for line in lines:
            _put_on(made, line)
        return order(made.id)


def edit_order(order_id: int, version: int | None = None, **changes: Any) -> OrderRecord:
    """Change an order's number, reference, note, shipping_minor or the day it is expected."""
    with writing():
        found = row(Order, order_id, "order")
        given: dict[str, Any] = {n: getattr(found, n) for n in ("number", "reference", "note")}
        dates = {"expected": found.expected, "shipping_minor": found.shipping_minor}
        unknown = set(changes) - set(given) - set(dates)
        if unknown:
            raise Invalid(f"An order has no {', '.join(sorted(unknown))}.", errors={k: ["unknown"] for k in unknown})
        texts = _checked_texts(**{n: changes.get(n, value) for n, value in given.items()})
        shipping = whole_money(changes.get("shipping_minor", found.shipping_minor), "shipping_minor")
        expected = _day(changes.get("expected", found.expected))
        try:
            edit(found, "order", version, **texts, shipping_minor=shipping, expected=expected)
        except IntegrityError:
            raise _number_taken(texts["number"]) from None
        return order(order_id)


def add_line(order_id: int, line: NewLine, version: int | None = None) -> OrderRecord:
    """Put a part on a draft."""
    with writing():
        found = _draft(order_id)
        _put_on(found, line)
        edit(found, "order", version)
        return order(order_id)


def edit_line(
    line_id: int, version: int | None = None, *, quantity: int | None = None, cost_minor: int | None = None
) -> OrderRecord:
    """Change how many of a part a draft asks for, or (until it is received) what a line costs.

    A new quantity without a cost takes the offer's price. *version* is the order's.
    """
    with writing():
        found = row(OrderLine, line_id, "order line")
        if quantity is not None:
            _draft(found.order_id)
            _whole_packs(found.offer, whole_quantity(quantity), found.part)
        elif found.order.status not in ("draft", "placed"):
            raise Conflict(f"Order {found.order.number} is {found.order.status}: it stays as it is.")
        wanted = found.quantity if quantity is None else quantity
        cost = _cost(found.offer, wanted, cost_minor, found.cost_minor)
        OrderLine.update(quantity=wanted, cost_minor=cost).where(OrderLine.id == line_id).execute()
        edit(found.order, "order", version)
        return order(found.order_id)


def place_order(
    order_id: int, version: int | None = None, *, expected: date | None = None, reference: str | None = None,
    by: int | None = None,
) -> OrderRecord:  # fmt: skip
    """Note that a draft was sent to its supplier. Left out, *expected* is today and the longest stated lead time."""
    with writing():
        found = _draft(order_id)
        lines = list(OrderLine.select().where(OrderLine.order == order_id, ~OrderLine.dropped))
        if not lines:
            raise Conflict("An order needs a part on it: add one first.", reason="empty")
        changes: dict[str, Any] = {} if reference is None else {"reference": clean(reference, "reference", 80)}
        if by is not None:
            changes["person"] = row(Person, by, "person").id
        day = _day(expected) or clock.today() + timedelta(days=max(_stated_days(one) for one in lines))
        edit(found, "order", version, status="placed", placed=clock.now(), expected=day, **changes)
        return order(order_id)


def drop_line(line_id: int, version: int | None = None) -> OrderRecord:
    """Take a part off a draft; of a placed order, expect no more of it. *version* is the order's."""
    with ledger.writing_lines():  # a parcel of it may be coming in at this moment
        line = row(OrderLine, line_id, "order line")
        found = row(Order, line.order_id, "order")
        if found.status not in ("draft", "placed") or line.dropped:
            raise Conflict(f"Order {found.number} expects nothing on that line.", reason="order_not_open")
        if found.status == "draft":
            OrderLine.delete().where(OrderLine.id == line_id).execute()
        else:
            OrderLine.update(dropped=True).where(OrderLine.id == line_id).execute()
        edit(found, "order", version, **_end_state(found))
        return order(found.id)


def cancel_order(order_id: int, version: int | None = None) -> OrderRecord:
    """Expect nothing more of an order: cancelled when nothing came, else received as far as it was."""
    with ledger.writing_lines():
        found = row(Order, order_id, "order")
        if found.status not in ("draft", "placed"):
            raise Conflict(
                f"Order {found.number} is {found.status}: there is nothing to cancel.", reason="order_not_open"
            )
        OrderLine.update(dropped=True).where(
            OrderLine.order == order_id, OrderLine.received < OrderLine.quantity
        ).execute()
        came = _came(order_id)
        edit(found, "order", version, status="received" if came else "cancelled", closed=clock.now())
        return order(order_id)


def expect_again(line_id: int, quantity: int) -> tuple[str, ...]:
    """Let a line expect *quantity* again, whose receipt was undone; return what to mind, if anything.

    A line that was dropped expects nothing all the same. Call it inside ``ledger.writing_lines``.
    """
    OrderLine.update(received=OrderLine.received - quantity).where(OrderLine.id == line_id).execute()
    line = row(OrderLine, line_id, "order line")
    found = row(Order, line.order_id, "order")
    edit(found, "order", None, **(_end_state(found) or {"status": "placed", "closed": None}))
    if not line.dropped:
        return ()
    return (f"Order {found.number} expects nothing more on that line: what does come is received without it.",)


def order(order_id: int) -> OrderRecord:
    """Return one order with its lines."""
    row(Order, order_id, "order")
    return _records([_with_names().where(Order.id == order_id).get()])[0]


def order_of_line(line_id: int) -> OrderRecord:
    """Return the order that a line is on."""
    return order(row(OrderLine, line_id, "order line").order_id)


def orders(
    *, status: str | None = None, supplier_id: int | None = None, part_id: int | None = None,
    after: str | None = None, limit: int = 50,
) -> Page:  # fmt: skip
    """Return orders with their lines, newest first."""
    query = _with_names()
    if status:
        query = query.where(Order.status == one_of(status, "status", STATUSES))
    if supplier_id is not None:
        query = query.where(Order.supplier == supplier_id)
    if part_id is not None:
        query = query.where(Order.id.in_(OrderLine.select(OrderLine.order).where(OrderLine.part == part_id)))
    page = page_of(query, Order.id, after, limit, lambda one: one, falling=True)
    return Page(_records(page.items), page.next)


def late_orders() -> list[OrderRecord]:
    """Return placed orders whose day has passed, latest first."""
    query = _with_names().where(Order.status == "placed", Order.expected < clock.today().isoformat())
    return _records(query.order_by(Order.expected, Order.id))


def expected_lines(part_id: int) -> list[OrderLineRecord]:
    """Return the lines on which a part is still to come, by line."""
    under_way = Order.select(Order.id).where(Order.status == "placed")
    outstanding = ~OrderLine.dropped & (OrderLine.received < OrderLine.quantity)
    return _line_records((OrderLine.part == part_id) & OrderLine.order.in_(under_way) & outstanding)


def deliveries(order_id: int) -> list[DeliveryRecord]:
    """Return the lots that came in on an order, in the order in which they came; those undone are left out."""
    found = row(Order, order_id, "order")
    query = (
        Lot.select(Lot, OrderLine).join(OrderLine)
        .where(OrderLine.order == order_id, Lot.id.not_in(undone_lots())).order_by(Lot.received, Lot.id)
    )  # fmt: skip
    return [
        DeliveryRecord(
            lot.id, lot.code, lot.order_line_id, lot.part_id, lot.quantity, lot.received,
            max(0, (lot.received - found.placed).days) if found.placed else 0,
        )
        for lot in query
    ]  # fmt: skip


UNDONE_LOTS = (
    "SELECT m.lot_id FROM movements r JOIN movements m ON m.id = r.reverses_id"
    " WHERE r.reverses_id IS NOT NULL AND m.kind = 'receive'"
)


def undone_lots() -> list[int]:
    """Return the lots whose receipt was undone."""
    return [int(lot) for (lot,) in run(UNDONE_LOTS).fetchall()]


# ---- checks ----------------------------------------------------------------------------------------------


def _draft(order_id: int) -> Order:
    found = row(Order, order_id, "order")
    if found.status != "draft":
        raise Conflict(
            f"Order {found.number} is {found.status}: drop a line of it, or begin another order.",
            reason="not_a_draft",
        )
    return found


def _put_on(found: Order, line: NewLine) -> None:
    part = row(Part, line.part_id, "part")
    quantity = whole_quantity(line.quantity)
    if OrderLine.select().where(OrderLine.order == found.id, ~OrderLine.dropped).count() >= MOST_LINES:
        raise Conflict(f"An order has at most {MOST_LINES} lines: begin another order.", reason="too_many_lines")
    if line.job_id is not None:
        open_job(line.job_id)
    if _is_on(found, line):
        raise Conflict(f"{part.name} is on this order already: change how many there.", reason="taken")
    offered = _offer_for(found, line)
    _whole_packs(offered, quantity, part)
    OrderLine.create(
        order=found.id, part=part.id, offer=offered.id if offered else None, quantity=quantity, job_id=line.job_id,
        cost_minor=_cost(offered, quantity, line.cost_minor, 0),
    )  # fmt: skip


def _is_on(found: Order, line: NewLine) -> bool:
    job = OrderLine.job_id.is_null() if line.job_id is None else OrderLine.job_id == line.job_id
    same = OrderLine.select().where(
        OrderLine.order == found.id, OrderLine.part == line.part_id, ~OrderLine.dropped, job
    )
    return bool(same.exists())


def _offer_for(found: Order, line: NewLine) -> Any:
    """Return the offer that a new line is bought by: the one named, else this supplier's preferred or cheapest."""
    if line.offer_id is not None:
        named = row(Offer, line.offer_id, "offer")
        if (named.part_id, named.supplier_id) != (line.part_id, found.supplier_id):
            raise Conflict("That offer is another supplier's or another part's: choose one of this order's.")
        return named
    own = list(Offer.select().where(Offer.part == line.part_id, Offer.supplier == found.supplier_id, Offer.active))
    fitting = [one for one in own if line.quantity % one.pack == 0 and line.quantity >= one.minimum]
    by_cost = sorted(fitting or own, key=lambda o: (not o.preferred, offer_record(o).cost_of(line.quantity), o.id))
    return by_cost[0] if by_cost else None


def _whole_packs(offered: Any, quantity: int, part: Part) -> None:
    if offered is None:
        return
    least = -(-max(quantity, offered.minimum) // offered.pack) * offered.pack
    if least == quantity:
        return
    sold = f"in packs of {amount(offered.pack, part)}" if offered.pack > 1 else "in any number"
    if offered.minimum > 1:
        sold += f", at least {amount(offered.minimum, part)}"
    sentence = f"{offered.supplier.name} sells {part.name} {sold}: order {amount(least, part)}."
    raise Invalid(sentence, reason="not_whole_packs", errors={"quantity": [sentence]}, least=least)


def _cost(offered: Any, quantity: int, given: int | None, otherwise: int) -> int:
    if given is not None:
        return whole_money(given, "cost_minor")
    return otherwise if offered is None else offer_record(offered).cost_of(quantity)


def _stated_days(line: OrderLine) -> int:
    own = line.offer.lead_days if line.offer else None
    return int(line.order.supplier.lead_days if own is None else own)


def _end_state(found: Order) -> dict[str, Any]:
    """Return what becomes of a placed order when no line is still to come (nothing, while one is)."""
    waiting = OrderLine.select().where(
        OrderLine.order == found.id, ~OrderLine.dropped, OrderLine.received < OrderLine.quantity
    )
    if found.status == "draft" or waiting.exists():
        return {}
    return {"status": "received" if _came(found.id) else "cancelled", "closed": clock.now()}


def _came(order_id: int) -> bool:
    return bool(OrderLine.select().where(OrderLine.order == order_id, OrderLine.received > 0).exists())


def _checked_texts(*, number: str, reference: str, note: str) -> dict[str, str]:
    return {
        "number": clean(number, "number", 30, needed=True),
        "reference": clean(reference, "reference", 80),
        "note": clean(note, "note", 5000),
    }


def _next_number() -> str:
    return f"O{1000 + (Order.select(fn.MAX(Order.id)).scalar() or 0) + 1}"


def _number_taken(number: str) -> Conflict:
    return Conflict(f"There is an order {number} already: choose another number.", reason="taken")


def _day(day: Any) -> date | None:
    if day is not None and (not isinstance(day, date) or not 2000 <= day.year <= 2100):
        sentence = f"The day {day} cannot be right: write one such as {clock.today()}."
        raise Invalid(sentence, errors={"expected": [sentence]})
    return day


# ---- records ---------------------------------------------------------------------------------------------


def _with_names() -> Any:
    return Order.select(Order, Supplier, Person).join(Supplier).switch(Order).join(Person, JOIN.LEFT_OUTER)


def _records(found: Iterable[Any]) -> list[OrderRecord]:
    rows = list(found)
    lines: dict[int, list[OrderLineRecord]] = {one.id: [] for one in rows}
    for line in _line_records(OrderLine.order.in_(list(lines))):
        lines[line.order_id].append(line)
    return [_record(one, tuple(lines[one.id])) for one in rows]


def _record(found: Any, lines: tuple[OrderLineRecord, ...]) -> OrderRecord:
    waiting = found.status == "placed" and found.expected is not None
    return read(
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
    return read(
        OrderLineRecord, one, part=read(PartRecord, one.part), pack=offered.pack if offered else 1,
        supplier_number=offered.supplier_number if offered else "", job_number=job_numbers.get(one.job_id, ""),
    )  # fmt: skip
