"""Today: what needs doing."""

from __future__ import annotations

from flask import render_template

from inventory.domain.common import clock
from inventory.pages import pages
from inventory.pages.alerts import alerts_screen


@pages.get("/")
def today() -> str:
    """Show what needs doing, each with a way to act."""
    at = alerts_screen.at_today()
    return render_template("alerts/today.html", at=at, today=at.today, now=clock.now())
