"""Unit models: what customers bring, which parts go into each, and what was learnt about it."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages
from inventory.stock import at_model


@pages.get("/unit-models/<int:key>")
def unit_model(key: int) -> str:
    """Show a unit model: its parts, lessons and past jobs."""
    return render_template("unit_model.html", at=at_model.at_model(key))
