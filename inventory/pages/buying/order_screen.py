"""At an order: its lines as typed, what came in on it, and its text for the supplier."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import (
    DeliveryRecord,
    NewLine,
    OrderLineRecord,
    OrderRecord,
    SupplierRecord,
)
from inventory.domain.catalogue.resolve import listed, part_meant
from inventory.domain.common.errors import Conflict
from inventory.domain.common.quantity_input import quantity
from inventory.domain.common.quantity_text import amount
from inventory.domain.common.validation import row
from inventory.store.connection import writing
from inventory.store.tables import OrderLine
from shared.quantities import format_money


@dataclass(frozen=True)
class AtOrder:
    """An order as its page shows it."""

    order: OrderRecord
    supplier: SupplierRecord
    deliveries: tuple[DeliveryRecord, ...]
    part_lines: tuple[str, ...]  # to pick from, while it is a draft

    @property
    def can_be_sent(self) -> bool:
        """Tell whether there is anything on it."""
        return any(not line.dropped for line in self.order.lines)

    @property
    def came_last(self) -> list[int]:
        """The lots that came in on the last day on which any did."""
        last = max((one.received.date() for one in self.deliveries), default=None)
        return [one.lot_id for one in self.deliveries if one.received.date() == last]


def at_order(order_id: int) -> AtOrder:
    """Gather an order, its supplier and what came in on it."""
    found = orders.order(order_id)
    draft = found.status == "draft"
    return AtOrder(
        found, suppliers.supplier(found.supplier_id), tuple(orders.deliveries(order_id)),
        tuple(listed()) if draft else (),
    )  # fmt: skip


def add_line(order_id: int, part: str, typed: str, version: int | None = None) -> OrderRecord:
    """Put the part that *part* means on a draft, in the quantity as typed."""
    with writing():
        meant = part_meant(part)
        return orders.add_line(order_id, NewLine(meant.id, quantity(typed, meant.unit)), version)


def edit_lines(
    order_id: int, version: int | None, typed: Mapping[int, tuple[str, int | None]]
) -> OrderRecord:  # fmt: skip
    """Change how many each line of a draft asks for and what it costs (None: by the offer), all or none."""
    with writing():
        found = orders.order(order_id)
        for line in found.lines:
            if line.id not in typed or line.dropped:
                continue
            text, cost = typed[line.id]
            number = quantity(text, line.part.unit, f"quantity-{line.id}")
            if number != line.quantity or cost not in (None, line.cost_minor):
                by_offer = None if number != line.quantity and cost == line.cost_minor else cost
                found = orders.edit_line(line.id, version, quantity=number, cost_minor=by_offer)
                version = found.version
        return orders.order(order_id)


def drop_line(order_id: int, line_id: int, version: int | None = None) -> OrderRecord:
    """Take a line off a draft, or expect no more of it."""
    if row(OrderLine, line_id, "order line").order_id != order_id:
        raise Conflict("That line is on another order: open the order it is on.", reason="other_order")
    return orders.drop_line(line_id, version)


@dataclass(frozen=True)
class OrderList:
    """Orders by what there is to do with them."""

    late: tuple[OrderRecord, ...]
    drafts: tuple[OrderRecord, ...]
    placed: tuple[OrderRecord, ...]
    closed: tuple[OrderRecord, ...]
    next: str | None
    suppliers: tuple[SupplierRecord, ...]


def order_list(after: str | None = None) -> OrderList:
    """Return late orders, drafts, those under way, and the newest that are done with."""
    late = orders.late_orders()
    placed = [one for one in orders.orders(status="placed", limit=200).items if not one.days_late]
    page = orders.orders(after=after or None, limit=60)
    return OrderList(
        tuple(late), tuple(orders.orders(status="draft", limit=100).items),
        tuple(sorted(placed, key=lambda one: (one.expected or date.max, one.id))),
        tuple(one for one in page.items if one.status in ("received", "cancelled")), page.next,
        tuple(suppliers.suppliers(limit=200).items),
    )  # fmt: skip


# ---- for the supplier ------------------------------------------------------------------------------------


def as_text(order_id: int, shop: str, currency: str) -> str:
    """Return an order as plain text, to be sent by e-mail."""
    found = orders.order(order_id)
    head = [f"Order {found.number}", f"From: {shop}", f"To:   {found.supplier}"]
    if found.reference:
        head.append(f"Your reference: {found.reference}")
    rows = [_text_row(line, currency) for line in found.lines if not line.dropped]
    tail = [f"Goods: {format_money(found.goods_minor, currency)}"]
    if found.shipping_minor:
        tail.append(f"Shipping: {format_money(found.shipping_minor, currency)}")
    tail.append(f"Total: {format_money(found.total_minor, currency)}")
    if found.note:
        tail += ["", found.note]
    return "\n".join([*head, "", *rows, "", *tail]) + "\n"


def _text_row(line: OrderLineRecord, currency: str) -> str:
    numbers = [line.supplier_number and f"your no. {line.supplier_number}", line.part.maker_number]
    said = ", ".join(one for one in numbers if one)
    price = f"  {format_money(line.cost_minor, currency)}" if line.cost_minor else ""
    name = f"{line.part.name}{f' ({said})' if said else ''}"
    return f"{amount(line.quantity, line.part):>12}  {name}{_as_packs(line)}{price}"


def _as_packs(line: OrderLineRecord) -> str:
    """Say how many packs a line is, for a supplier who counts in packs."""
    if line.packs is None:
        return ""
    return f", {line.packs} {'pack' if line.packs == 1 else 'packs'} of {amount(line.pack, line.part)}"


def as_csv(order_id: int, currency: str) -> str:
    """Return an order's lines as comma-separated values, the first row naming the columns."""
    found = orders.order(order_id)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(
        [
            "order", "supplier_number", "maker_number", "number", "name", "quantity", "unit", "cost", "currency",
            "packs", "pack",
        ]
    )  # fmt: skip
    for line in found.lines:
        if not line.dropped:
            cost = format_money(line.cost_minor, currency).rpartition(" ")[0]
            texts = (found.number, line.supplier_number, line.part.maker_number, line.part.number, line.part.name)
            figures = [line.quantity, line.part.unit, cost, currency, line.packs, line.pack if line.packs else None]
            writer.writerow([*map(_safe, texts), *figures])
    return text.getvalue()


def _safe(text: str) -> str:
    """Keep a spreadsheet from taking a text for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text
