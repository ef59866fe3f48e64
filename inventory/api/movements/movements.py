"""/movements: the lines of the ledger."""

from __future__ import annotations

from typing import Any

from inventory.api.movements.movement_schemas import MovementOut, MovementsQuery
from inventory.api.resource import Resource
from inventory.domain.catalogue import history as stock
from inventory.domain.common.records import MovementRecord, Page

resource = Resource("movements", "The ledger: every movement of stock, never changed and never deleted.")
MOVEMENT = MovementOut()


@resource.get("/movements")
@resource.arguments(MovementsQuery(), location="query")
@resource.listed(MOVEMENT)
def movements(asked: dict[str, Any]) -> Page:
    """List lines of the ledger, newest first."""
    return stock.movements(**asked)


@resource.get("/movements/<key:movement_id>")
@resource.response(200, MOVEMENT)
def movement(movement_id: int) -> MovementRecord:
    """Read a line of the ledger."""
    return stock.movement(movement_id)
