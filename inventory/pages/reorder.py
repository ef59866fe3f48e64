"""The reorder list: what to order now, how many, from whom, and why."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages


@pages.get("/reorder")
def reorder() -> str:
    """Show what to order now."""
    return render_template("reorder.html")
