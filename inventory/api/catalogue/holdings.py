"""/holdings: what is where."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.stock_schemas import HoldingOut, HoldingsQuery
from inventory.api.resource import Resource
from inventory.domain.catalogue import bins as domain
from inventory.domain.common.records import Holding

resource = Resource("holdings", "Loose stock: so many units of a lot in a bin.")


@resource.get("/holdings")
@resource.arguments(HoldingsQuery(), location="query")
@resource.listed(HoldingOut(), key=lambda holding: f"{holding.bin.id}.{holding.lot.id}")
def holdings(params: dict[str, Any]) -> list[Holding]:
    """List loose stock, oldest lot first."""
    return domain.holdings(**params)
