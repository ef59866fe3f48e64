"""Today: what needs doing."""

from __future__ import annotations

from flask import render_template

from inventory.domain.alerts import alerts_overview
from inventory.domain.common import clock
from inventory.pages import pages


@pages.get("/")
def today() -> str:
    """Show what needs doing, each with a way to act."""
    at = alerts_overview.at_today()
    return render_template("alerts/today.html", at=at, today=at.today, now=clock.now())
