"""/promises and /forecasts: what was promised of the stock, held against what happened."""

from __future__ import annotations

from typing import Any

from inventory.api.alerts.alert_schemas import ForecastOut, ForecastReportOut, ForecastsQuery
from inventory.api.resource import Resource
from inventory.domain.common.records import ResultPage
from inventory.domain.reorder import forecast_report as domain
from inventory.web.access import require_role

resource = Resource("promises", "Every advice remembered, and held against what happened.")


@resource.get("/promises")
@require_role("owner")
@resource.response(200, ForecastReportOut())
def forecast_report() -> domain.ForecastReport:
    """Read promised against achieved, with honest counts."""
    return domain.forecast_report()


@resource.get("/forecasts")
@resource.arguments(ForecastsQuery(), location="query")
@resource.listed(ForecastOut())
def forecasts(params: dict[str, Any]) -> ResultPage:
    """List remembered advice, newest first."""
    return domain.forecasts(**params)
