"""The shop's own decisions: what is promised, and the constants that the reckoning uses."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.door import for_role
from inventory.pages import pages
from inventory.pages.acting import acts
from inventory.stock import at_shop

PROMISES = {
    "no_stock_out": "nothing runs dry before the next delivery",
    "next_job": "the next job finds all that it wants",
}


def _show() -> str:
    return render_template("shop.html", at=at_shop.at_shop(), promises=PROMISES)


@pages.get("/shop")
@for_role("owner")
def shop() -> str:
    """Show what the shop promises and reckons with."""
    return _show()


@pages.post("/shop")
@for_role("owner")
@acts(_show)
def edit_shop() -> Response:
    """Change the shop's decisions."""
    typed: dict[str, Any] = {name: text.strip() for name, text in request.form.items()}
    at_shop.decide(typed)
    flash("The shop's decisions are kept; the reorder list goes by them from now on.", "good")
    return redirect(url_for("pages.shop"), 303)
