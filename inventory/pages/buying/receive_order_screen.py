"""A whole parcel at once: what an order still waits for, each line into the bin where the part belongs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date

from inventory.domain.buying.order_records import OrderLineRecord, OrderRecord
from inventory.domain.buying.orders import order
from inventory.domain.catalogue.resolve import bin_meant
from inventory.domain.common.errors import Conflict, Invalid, Refused
from inventory.domain.common.quantity_input import quantity
from inventory.domain.common.records import Done
from inventory.domain.movements.receive import receive
from inventory.pages.buying.receive_screen import home_of
from inventory.store import ledger


@dataclass(frozen=True)
class Awaited:
    """A line that is still to come, with the bin that it goes into unless somebody says another (empty: none yet)."""

    line: OrderLineRecord
    bin_now: str


@dataclass(frozen=True)
class Came:
    """What came of a line, as typed: how many (blank or 0: none), into which bin, and its last good day."""

    amount: str
    bin: str
    best_before: date | None = None


def awaited(order_id: int) -> tuple[OrderRecord, tuple[Awaited, ...]]:
    """Return an order under way, and what of it is still to come; raise Conflict for one that waits for nothing."""
    found = order(order_id)
    if found.status != "placed":
        word = {"draft": "not sent yet", "received": "all here", "cancelled": "cancelled"}[found.status]
        raise Conflict(f"Order {found.number} is {word}: there is nothing to unpack.", reason="not_under_way")
    return found, tuple(Awaited(one, _home(one.part.id)) for one in found.lines if one.outstanding)


def _home(part_id: int) -> str:
    found = home_of(part_id)
    return "" if found is None else found.shown_as


def unpack(order_id: int, came: Mapping[int, Came], *, by: int | None = None) -> list[Done]:
    """Receive what *came* by the ids of lines, each as a lot of its own that can be undone by itself; all or nothing.

    Raises Invalid naming the field (``amount-7``, ``bin-7``) that is off, or when nothing came.
    """
    with ledger.writing_lines():
        _, lines = awaited(order_id)
        done = [_receive(one.line, came[one.line.id], by) for one in lines if _any(came.get(one.line.id))]
        if not done:
            raise Invalid("Nothing came? Type how many of at least one line.")
        return done


def _any(came: Came | None) -> bool:
    return came is not None and came.amount.strip() not in ("", "0")


def _receive(line: OrderLineRecord, came: Came, by: int | None) -> Done:
    number = quantity(came.amount, line.part.unit, f"amount-{line.id}")
    with _about(f"bin-{line.id}"):
        if not came.bin.strip():
            raise Invalid(f"Say which bin {line.part.name} goes into.")
        into = bin_meant(came.bin)
        return receive(
            line.part.id, number, into.id, order_line_id=line.id, best_before=came.best_before, by=by,
        )  # fmt: skip


@contextmanager
def _about(field: str) -> Iterator[None]:
    """Let a refusal name the *field* that it is about, on its way out of the transaction."""
    try:
        yield
    except Refused as refused:
        raise Invalid(refused.sentence, reason=refused.reason, errors={field: [refused.sentence]}) from None
