"""Today: what needs doing."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages
from inventory.stock import at_alerts, clock


@pages.get("/")
def today() -> str:
    """Show what needs doing, each with a way to act."""
    at = at_alerts.at_today()
    return render_template("today.html", at=at, today=at.today, now=clock.now())
