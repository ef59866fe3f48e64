"""Everything that is not under the thumb, one tap away."""

from __future__ import annotations

from flask import render_template

from inventory.pages import pages


@pages.get("/more")
def more() -> str:
    """Show the ways to everything else."""
    return render_template("more.html")
