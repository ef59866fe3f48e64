"""/sent-back: what went back to a supplier, why, the money expected for it, and what came."""

from __future__ import annotations

from typing import Any

from inventory.api.quality.sent_back_schemas import (
    MoneyBackOut,
    SendBackIn,
    SendRestBackIn,
    SentBackEdit,
    SentBackOut,
    SentBackQuery,
    SettleIn,
)
from inventory.api.resource import Resource, at
from inventory.domain.common.records import Page
from inventory.domain.quality import sent_back as stock
from inventory.domain.quality.sent_back_records import MoneyBack, SentBackRecord
from inventory.web.access import caller, for_role

resource = Resource("sent back", "What went back to a supplier, and what came of it.")
SENT = SentBackOut()


@resource.get("/sent-back")
@resource.arguments(SentBackQuery(), location="query")
@resource.listed(SENT)
def all_sent_back(asked: dict[str, Any]) -> Page:
    """List what was sent back, newest first."""
    return stock.all_sent_back(**asked)


@resource.get("/sent-back/money")
@for_role("owner")
@resource.response(200, MoneyBackOut())
def money_back() -> MoneyBack:
    """Read how much money is expected back from suppliers, and how much came."""
    return stock.money_back()


@resource.get("/sent-back/<key:sent_back_id>")
@resource.response(200, SENT)
def sent_back(sent_back_id: int) -> SentBackRecord:
    """Read one that was sent back."""
    return stock.sent_back(sent_back_id)


@resource.post("/sent-back")
@resource.arguments(SendBackIn())
@resource.response(201, SENT, entity=False)
def send_back(given: dict[str, Any]) -> Any:
    """Send loose units of a lot, or a piece, back to the supplier: they leave the shelf, money is expected.

    Refused (422, no_supplier) when nobody is noted as the supplier of the lot and supplier_id says none. Undo its
    entry (/undos) to take it back.
    """
    made, _ = stock.send_back(**given, by=caller().id)
    return made, at("sent back", made.id)


@resource.post("/lots/<key:lot_id>/send-rest-back")
@resource.arguments(SendRestBackIn())
@resource.response(201, SENT, entity=False)
def send_rest_back(given: dict[str, Any], lot_id: int) -> Any:
    """Send all that is left of a lot on hold back, which ends the hold; what jobs put back later stays on hold."""
    made, _ = stock.send_rest_back(lot_id, **given, by=caller().id)
    return made, at("sent back", made.id)


@resource.patch("/sent-back/<key:sent_back_id>")
@resource.arguments(SentBackEdit())
@resource.edited(SENT, stock.sent_back)
def edit_sent_back(given: dict[str, Any], sent_back_id: int, version: int | None) -> SentBackRecord:
    """Correct the money asked for, the supplier's reference, or the note."""
    return stock.edit_sent_back(sent_back_id, version, **given)


@resource.post("/sent-back/<key:sent_back_id>/settle")
@resource.arguments(SettleIn())
@resource.response(200, SENT, entity=False)
def settle(given: dict[str, Any], sent_back_id: int) -> SentBackRecord:
    """Note the money that came and what the supplier said; noted again, it is corrected."""
    return stock.settle(sent_back_id, **given, by=caller().id)
