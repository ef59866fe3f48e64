"""At what goes back to suppliers: choosing it out of a bin, what waits for an answer, one that was sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import SupplierRecord
from inventory.domain.common.records import Done
from inventory.domain.quality import sent_back
from inventory.domain.quality.sent_back_records import MoneyBack, SentBackRecord
from inventory.pages.movements.adjustments_screen import AtShelf, at_shelf, meant
from inventory.store import ledger

RECENT = 50


@dataclass(frozen=True)
class AtSending:
    """A bin with what is in it, and to whom it may go."""

    shelf: AtShelf
    suppliers: tuple[SupplierRecord, ...]


def at_sending(bin_id: int) -> AtSending:
    """Gather what choosing something to send back needs."""
    return AtSending(at_shelf(bin_id), sellers())


def sellers() -> tuple[SupplierRecord, ...]:
    """Return the suppliers to choose from."""
    return tuple(suppliers.suppliers(limit=200).items)


def send_back(bin_id: int, key: str, amount: str, said: Mapping[str, Any], *, by: int) -> tuple[SentBackRecord, Done]:
    """Send an *amount* as typed, or a piece, out of a bin back; *said* is what ``sending_back.send_back`` takes."""
    with ledger.writing_lines():
        what: dict[str, Any] = {**meant(bin_id, key, amount), **said}
        return sent_back.send_back(**what, by=by)


@dataclass(frozen=True)
class AtSentBack:
    """All that waits for an answer, the last ones that do not, and the money of both."""

    waiting: tuple[SentBackRecord, ...]
    others: tuple[SentBackRecord, ...]
    money: MoneyBack


def at_sent_back() -> AtSentBack:
    """Gather what went back to suppliers."""
    waiting = sent_back.all_sent_back(waits=True, limit=200).items
    others = sent_back.all_sent_back(waits=False, limit=RECENT).items
    return AtSentBack(tuple(waiting), tuple(others), sent_back.money_back())
