"""Parts: finding one, and everything about it on one page."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages
from inventory.stock import look


@pages.get("/parts/<int:key>")
def part(key: int) -> str:
    """Show a part: how many there are and where, what it fits, what may stand in for it."""
    return render_template("part.html", look=look.look_at_part(key))
