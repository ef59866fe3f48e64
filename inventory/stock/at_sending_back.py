"""At what goes back to suppliers: choosing it out of a bin, what waits for an answer, one that was sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.stock import sending_back, suppliers
from inventory.stock.at_shelf import AtShelf, at_shelf, meant
from inventory.stock.records import Done
from inventory.stock.records_orders import SupplierRecord
from inventory.stock.records_sent_back import MoneyBack, SentBackRecord
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
        return sending_back.send_back(**what, by=by)


@dataclass(frozen=True)
class AtSentBack:
    """All that waits for an answer, the last ones that do not, and the money of both."""

    waiting: tuple[SentBackRecord, ...]
    others: tuple[SentBackRecord, ...]
    money: MoneyBack


def at_sent_back() -> AtSentBack:
    """Gather what went back to suppliers."""
    waiting = sending_back.all_sent_back(waits=True, limit=200).items
    others = sending_back.all_sent_back(waits=False, limit=RECENT).items
    return AtSentBack(tuple(waiting), tuple(others), sending_back.money_back())
