"""Promises kept: what was promised of the stock, held against what happened."""

from __future__ import annotations

from flask import render_template

from inventory.domain.reorder import forecast_report
from inventory.pages import pages
from inventory.pages.common.shop import PROMISE_LABELS
from inventory.pages.reorder.forecast_chart import risk_chart
from inventory.web.access import require_role


@pages.get("/promises")
@require_role("owner")
def forecasts() -> str:
    """Show promised against achieved, with honest counts."""
    report = forecast_report.forecast_report()
    return render_template(
        "reorder/forecasts.html", report=report, promises=PROMISE_LABELS, chart=risk_chart(report.risks)
    )
