"""/promises and /forecasts: what was promised of the stock, held against what happened."""

from __future__ import annotations

from typing import Any

from inventory.api.alerts.alert_schemas import ForecastOut, ForecastsQuery, PromisesOut
from inventory.api.resource import Resource
from inventory.domain.common.records import Page
from inventory.domain.reorder import forecast_report as stock
from inventory.web.access import for_role

resource = Resource("promises", "Every advice remembered, and held against what happened.")


@resource.get("/promises")
@for_role("owner")
@resource.response(200, PromisesOut())
def promises() -> stock.PromiseReport:
    """Read promised against achieved, with honest counts."""
    return stock.promise_report()


@resource.get("/forecasts")
@resource.arguments(ForecastsQuery(), location="query")
@resource.listed(ForecastOut())
def forecasts(asked: dict[str, Any]) -> Page:
    """List remembered advice, newest first."""
    return stock.forecasts(**asked)
