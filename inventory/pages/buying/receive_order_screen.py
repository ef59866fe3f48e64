"""A whole parcel at once: what an order still waits for, each line into the bin where the part belongs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date

from inventory.domain.buying.order_records import OrderLineRecord, OrderRecord
from inventory.domain.buying.orders import order
from inventory.domain.catalogue.resolve import resolve_bin
from inventory.domain.common.atomic import atomic
from inventory.domain.common.errors import Conflict, DomainError, Invalid
from inventory.domain.common.quantity_text import parse_quantity_field
from inventory.domain.common.records import ActionResult
from inventory.domain.movements.receive import receive
from inventory.pages.buying.receive_screen import home_bin


@dataclass(frozen=True)
class OutstandingLine:
    """A line that is still to come, with its default bin (empty: none yet)."""

    line: OrderLineRecord
    bin_now: str


@dataclass(frozen=True)
class ReceivedLine:
    """What came of a line, as typed: how many (blank or 0: none), into which bin, and its last good day."""

    amount: str
    bin: str
    best_before: date | None = None


def outstanding_lines(order_id: int) -> tuple[OrderRecord, tuple[OutstandingLine, ...]]:
    """Return an order under way, and what of it is still to come; raise Conflict for one that waits for nothing."""
    record = order(order_id)
    if record.status != "placed":
        word = {"draft": "not sent yet", "received": "all here", "cancelled": "cancelled"}[record.status]
        raise Conflict(f"Order {record.number} is {word}: there is nothing to unpack.", reason="not_under_way")
    return record, tuple(
        OutstandingLine(line, _home_bin_name(line.part.id)) for line in record.lines if line.outstanding
    )


def _home_bin_name(part_id: int) -> str:
    home = home_bin(part_id)
    return "" if home is None else home.shown_as


def receive_order(
    order_id: int, received: Mapping[int, ReceivedLine], *, by: int | None = None
) -> list[ActionResult]:
    """Receive what was *received*, by line id, each as a lot of its own that can be undone by itself; all or nothing.

    Raises Invalid naming the field (``amount-7``, ``bin-7``) that is off, or when nothing came.
    """
    with atomic(lock_stock=True):
        _, lines = outstanding_lines(order_id)
        results = [
            _receive_line(line.line, received[line.line.id], by)
            for line in lines
            if _anything_came(received.get(line.line.id))
        ]
        if not results:
            raise Invalid("Nothing came? Type how many of at least one line.")
        return results


def _anything_came(received: ReceivedLine | None) -> bool:
    return received is not None and received.amount.strip() not in ("", "0")


def _receive_line(line: OrderLineRecord, received: ReceivedLine, by: int | None) -> ActionResult:
    number = parse_quantity_field(received.amount, line.part.unit, f"amount-{line.id}")
    with _name_field_in_errors(f"bin-{line.id}"):
        if not received.bin.strip():
            raise Invalid(f"Say which bin {line.part.name} goes into.")
        bin_ = resolve_bin(received.bin)
        return receive(
            line.part.id, number, bin_.id, order_line_id=line.id, best_before=received.best_before, by=by,
        )  # fmt: skip


@contextmanager
def _name_field_in_errors(field: str) -> Iterator[None]:
    """Let a refusal name the *field* that it is about, on its way out of the transaction."""
    try:
        yield
    except DomainError as refused:
        raise Invalid(refused.sentence, reason=refused.reason, errors={field: [refused.sentence]}) from None
