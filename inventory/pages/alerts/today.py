"""Today: what needs doing."""

from __future__ import annotations

from flask import render_template

from inventory.domain.alerts import alerts_overview
from inventory.domain.common import clock
from inventory.pages import pages


@pages.get("/")
def today() -> str:
    """Show what needs doing, each with a way to act."""
    screen = alerts_overview.today_screen()
    return render_template("alerts/today.html", screen=screen, today=screen.today, now=clock.now())
