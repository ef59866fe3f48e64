"""At an order: its lines as typed, what came in on it, and its text for the supplier."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import (
    DeliveryRecord,
    NewOrderLine,
    OrderLineRecord,
    OrderRecord,
    SupplierRecord,
)
from inventory.domain.catalogue.resolve import part_choices, resolve_part
from inventory.domain.common.atomic import atomic
from inventory.domain.common.csv_text import as_csv
from inventory.domain.common.errors import Conflict
from inventory.domain.common.quantity_text import parse_quantity_field, quantity_text
from shared.quantities import format_money


@dataclass(frozen=True)
class OrderScreen:
    """An order as its page shows it."""

    order: OrderRecord
    supplier: SupplierRecord
    deliveries: tuple[DeliveryRecord, ...]
    part_lines: tuple[str, ...]  # to pick from, while it is a draft

    @property
    def can_be_sent(self) -> bool:
        """Tell whether it has a line that was not dropped."""
        return any(not line.dropped for line in self.order.lines)

    @property
    def came_last(self) -> list[int]:
        """The lots that came in on the last day on which any did."""
        last = max((delivery.received.date() for delivery in self.deliveries), default=None)
        return [delivery.lot_id for delivery in self.deliveries if delivery.received.date() == last]


def order_screen(order_id: int) -> OrderScreen:
    """Gather an order, its supplier and what came in on it."""
    record = orders.order(order_id)
    draft = record.status == "draft"
    return OrderScreen(
        record, suppliers.supplier(record.supplier_id), tuple(orders.deliveries(order_id)),
        tuple(part_choices()) if draft else (),
    )  # fmt: skip


def add_line_from_form(order_id: int, part: str, text: str, version: int | None = None) -> OrderRecord:
    """Put the part that *part* means on a draft, in the quantity as typed."""
    with atomic():
        record = resolve_part(part)
        return orders.add_line(order_id, NewOrderLine(record.id, parse_quantity_field(text, record.unit)), version)


def edit_lines_from_form(
    order_id: int, version: int | None, texts: Mapping[int, tuple[str, int | None]]
) -> OrderRecord:  # fmt: skip
    """Change how many each line of a draft asks for and what it costs (None: by the offer), all or none."""
    with atomic():
        order = orders.order(order_id)
        for line in order.lines:
            if line.id not in texts or line.dropped:
                continue
            text, cost = texts[line.id]
            number = parse_quantity_field(text, line.part.unit, f"quantity-{line.id}")
            if number != line.quantity or cost not in (None, line.cost_minor):
                by_offer = None if number != line.quantity and cost == line.cost_minor else cost
                order = orders.edit_line(line.id, version, quantity=number, cost_minor=by_offer)
                version = order.version
        return orders.order(order_id)


def drop_line_of_order(order_id: int, line_id: int, version: int | None = None) -> OrderRecord:
    """Remove a line from a draft, or expect no more of it; raise Conflict for a line of another order."""
    if orders.order_of_line(line_id).id != order_id:
        raise Conflict("That line is on another order: open the order it is on.", reason="other_order")
    return orders.drop_line(line_id, version)


@dataclass(frozen=True)
class OrdersScreen:
    """Orders by what there is to do with them."""

    late: tuple[OrderRecord, ...]
    drafts: tuple[OrderRecord, ...]
    placed: tuple[OrderRecord, ...]
    closed: tuple[OrderRecord, ...]
    next: str | None
    suppliers: tuple[SupplierRecord, ...]


def orders_screen(after: str | None = None) -> OrdersScreen:
    """Return late orders, drafts, those under way, and the newest that are done with."""
    late = orders.late_orders()
    placed = [order for order in orders.orders(status="placed", limit=200).items if not order.days_late]
    page = orders.orders(after=after or None, limit=60)
    return OrdersScreen(
        tuple(late), tuple(orders.orders(status="draft", limit=100).items),
        tuple(sorted(placed, key=lambda item: (item.expected or date.max, item.id))),
        tuple(order for order in page.items if order.status in ("received", "cancelled")), page.next,
        tuple(suppliers.suppliers(limit=200).items),
    )  # fmt: skip


# ---- for the supplier ------------------------------------------------------------------------------------


def order_text(order_id: int, shop: str, currency: str) -> str:
    """Return an order as plain text, to be sent by e-mail."""
    order = orders.order(order_id)
    head = [f"Order {order.number}", f"From: {shop}", f"To:   {order.supplier}"]
    if order.reference:
        head.append(f"Your reference: {order.reference}")
    rows = [_order_text_row(line, currency) for line in order.lines if not line.dropped]
    tail = [f"Goods: {format_money(order.goods_minor, currency)}"]
    if order.shipping_minor:
        tail.append(f"Shipping: {format_money(order.shipping_minor, currency)}")
    tail.append(f"Total: {format_money(order.total_minor, currency)}")
    if order.note:
        tail += ["", order.note]
    return "\n".join([*head, "", *rows, "", *tail]) + "\n"


def _order_text_row(line: OrderLineRecord, currency: str) -> str:
    numbers = [line.supplier_number and f"your no. {line.supplier_number}", line.part.maker_number]
    known_as = ", ".join(number for number in numbers if number)
    price = f"  {format_money(line.cost_minor, currency)}" if line.cost_minor else ""
    name = f"{line.part.name}{f' ({known_as})' if known_as else ''}"
    return f"{quantity_text(line.quantity, line.part):>12}  {name}{_packs_text(line)}{price}"


def _packs_text(line: OrderLineRecord) -> str:
    """Say how many packs a line is, for a supplier who counts in packs."""
    if line.packs is None:
        return ""
    return f", {line.packs} {'pack' if line.packs == 1 else 'packs'} of {quantity_text(line.pack, line.part)}"


def order_csv(order_id: int, currency: str) -> str:
    """Return an order's lines as comma-separated values, the first row naming the columns."""
    order = orders.order(order_id)
    head = (
        "order", "supplier_number", "maker_number", "number", "name", "quantity", "unit", "cost", "currency", "packs",
        "pack",
    )  # fmt: skip
    return as_csv(head, [_csv_cells(order, line, currency) for line in order.lines if not line.dropped])


def _csv_cells(order: OrderRecord, line: OrderLineRecord, currency: str) -> tuple[object, ...]:
    cost = format_money(line.cost_minor, currency).rpartition(" ")[0]
    return (
        order.number, line.supplier_number, line.part.maker_number, line.part.number, line.part.name, line.quantity,
        line.part.unit, cost, currency, line.packs, line.pack if line.packs else None,
    )  # fmt: skip
