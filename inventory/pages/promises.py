"""Promises kept: what was promised of the stock, held against what happened."""

from __future__ import annotations

from flask import render_template

from inventory.door import for_role
from inventory.pages import pages
from inventory.pages.promise_chart import risk_chart
from inventory.pages.shop import PROMISES
from inventory.stock import promise_report


@pages.get("/promises")
@for_role("owner")
def promise_list() -> str:
    """Show promised against achieved, with honest counts."""
    found = promise_report.promise_report()
    return render_template("promises.html", found=found, promises=PROMISES, chart=risk_chart(found.risks))
