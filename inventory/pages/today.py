"""Today: what needs doing."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages
from inventory.stock import clock
from inventory.stock import today as doing


@pages.get("/")
def today() -> str:
    """Show what needs doing, each with a way to act."""
    return render_template("today.html", today=doing.today(), now=clock.now())
