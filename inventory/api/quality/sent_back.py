"""/sent-back: what went back to a supplier, why, the money expected for it, and what came."""

from __future__ import annotations

from typing import Any

from inventory.api.quality.sent_back_schemas import (
    RefundTotalsOut,
    SentBackEdit,
    SentBackIn,
    SentBackOut,
    SentBackQuery,
    SentBackRestIn,
    SettleSentBackIn,
)
from inventory.api.resource import Resource, location_header
from inventory.domain.common.records import ResultPage
from inventory.domain.quality import sent_back as domain
from inventory.domain.quality.sent_back_records import MoneyBack, SentBackRecord
from inventory.web.access import current_person, require_role

resource = Resource("sent back", "What went back to a supplier, and what came of it.")
SENT_BACK = SentBackOut()


@resource.get("/sent-back")
@resource.arguments(SentBackQuery(), location="query")
@resource.listed(SENT_BACK)
def sent_back_list(params: dict[str, Any]) -> ResultPage:
    """List what was sent back, newest first."""
    return domain.list_sent_back(**params)


@resource.get("/sent-back/money")
@require_role("owner")
@resource.response(200, RefundTotalsOut())
def refund_totals() -> MoneyBack:
    """Read how much money is expected back from suppliers, and how much came."""
    return domain.money_back()


@resource.get("/sent-back/<key:sent_back_id>")
@resource.response(200, SENT_BACK)
def sent_back(sent_back_id: int) -> SentBackRecord:
    """Read one that was sent back."""
    return domain.sent_back(sent_back_id)


@resource.post("/sent-back")
@resource.arguments(SentBackIn())
@resource.response(201, SENT_BACK, with_etag=False)
def send_back(data: dict[str, Any]) -> Any:
    """Send loose units of a lot, or a piece, back to the supplier: they leave the shelf, money is expected.

    Refused (422, no_supplier) when nobody is noted as the supplier of the lot and supplier_id says none. Undo its
    entry (/undos) to take it back.
    """
    back, _ = domain.send_back(**data, by=current_person().id)
    return back, location_header("sent back", back.id)


@resource.post("/lots/<key:lot_id>/send-rest-back")
@resource.arguments(SentBackRestIn())
@resource.response(201, SENT_BACK, with_etag=False)
def send_rest_back(data: dict[str, Any], lot_id: int) -> Any:
    """Send all that is left of a lot on hold back, which ends the hold; what jobs put back later stays on hold."""
    back, _ = domain.send_rest_back(lot_id, **data, by=current_person().id)
    return back, location_header("sent back", back.id)


@resource.patch("/sent-back/<key:sent_back_id>")
@resource.arguments(SentBackEdit())
@resource.edited(SENT_BACK, domain.sent_back)
def edit_sent_back(data: dict[str, Any], sent_back_id: int, version: int | None) -> SentBackRecord:
    """Correct the money asked for, the supplier's reference, or the note."""
    return domain.edit_sent_back(sent_back_id, version, **data)


@resource.post("/sent-back/<key:sent_back_id>/settle")
@resource.arguments(SettleSentBackIn())
@resource.response(200, SENT_BACK, with_etag=False)
def settle_sent_back(data: dict[str, Any], sent_back_id: int) -> SentBackRecord:
    """Note the money that came and what the supplier said; noted again, it is corrected."""
    return domain.settle_sent_back(sent_back_id, **data, by=current_person().id)
