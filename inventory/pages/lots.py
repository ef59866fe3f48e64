"""Lots: where one came from, what is left of it, and which jobs got some."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages
from inventory.stock import look


@pages.get("/lots/<int:key>")
def lot(key: int) -> str:
    """Show where a lot came from and where it went."""
    return render_template("lot.html", look=look.look_at_lot(key))
