"""Promises kept: what was promised of the stock, held against what happened."""

from __future__ import annotations

from flask import render_template

from inventory.domain.reorder import forecast_report
from inventory.pages import pages
from inventory.pages.common.shop import PROMISES
from inventory.pages.reorder.forecast_chart import risk_chart
from inventory.web.access import for_role


@pages.get("/promises")
@for_role("owner")
def promise_list() -> str:
    """Show promised against achieved, with honest counts."""
    found = forecast_report.promise_report()
    return render_template("reorder/forecasts.html", found=found, promises=PROMISES, chart=risk_chart(found.risks))
