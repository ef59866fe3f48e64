"""Orders: what was asked of a supplier, and what came of it."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages
from inventory.stock import ordering


@pages.get("/orders/<int:key>")
def order(key: int) -> str:
    """Show an order with its lines."""
    return render_template("order.html", order=ordering.order(key))
