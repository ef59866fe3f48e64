"""At what goes back to suppliers: choosing it out of a bin, what waits for an answer, one that was sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import SupplierRecord
from inventory.domain.common.atomic import atomic
from inventory.domain.common.records import ActionResult
from inventory.domain.quality import sent_back
from inventory.domain.quality.sent_back_records import MoneyBack, SentBackRecord
from inventory.pages.movements.adjustments_screen import ShelfScreen, resolve_bin_item, shelf_screen

MAX_RECENT = 50


@dataclass(frozen=True)
class SendBackScreen:
    """A bin with what is in it, and to whom it may go."""

    shelf: ShelfScreen
    suppliers: tuple[SupplierRecord, ...]


def send_back_screen(bin_id: int) -> SendBackScreen:
    """Gather what choosing something to send back needs."""
    return SendBackScreen(shelf_screen(bin_id), supplier_choices())


def supplier_choices() -> tuple[SupplierRecord, ...]:
    """Return the suppliers to choose from."""
    return tuple(suppliers.suppliers(limit=200).items)


def send_back_from_form(
    bin_id: int, key: str, amount: str, details: Mapping[str, Any], *, by: int
) -> tuple[SentBackRecord, ActionResult]:
    """Send an *amount* as typed, or a piece, out of a bin back; *details* are what ``sent_back.send_back`` takes."""
    with atomic(lock_stock=True):
        what: dict[str, Any] = {**resolve_bin_item(bin_id, key, amount), **details}
        return sent_back.send_back(**what, by=by)


@dataclass(frozen=True)
class SentBackScreen:
    """All that waits for an answer, the last ones that do not, and the money of both."""

    waiting: tuple[SentBackRecord, ...]
    others: tuple[SentBackRecord, ...]
    money: MoneyBack


def sent_back_screen() -> SentBackScreen:
    """Gather what went back to suppliers."""
    waiting = sent_back.list_sent_back(waits=True, limit=200).items
    others = sent_back.list_sent_back(waits=False, limit=MAX_RECENT).items
    return SentBackScreen(tuple(waiting), tuple(others), sent_back.money_back())
