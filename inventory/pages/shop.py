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
LABELS = {
    "looks_days": "Days between looks at the list",
    "lead_days": "Days a delivery takes, where nobody states it",
    "pooling_months": "Months of the average part",
    "half_life_months": "Half-life of history, in months",
    "size_prior": "Weight of the average size of a job",
    "size_shape": "Shape of the size of a job",
    "jobs_prior": "Jobs to start with",
    "months_prior": "Months to start with",
    "extra_prior": "Further pieces to start with",
    "sized_prior": "Jobs they are spread over",
    "kind_parts": "Parts that make a kind",
    "stated_weight": "Weight of a stated lead time, in deliveries",
    "lead_variation": "Spread of a stated lead time",
    "line_cost_minor": "Cost of one line of an order, in minor units",
    "holding_share": "Cost of holding stock for a year, as a share",
    "most_years": "Most years of use to lay in",
    "lines_a_parcel": "Lines that share a parcel",
}


def _show() -> str:
    return render_template("shop.html", at=at_shop.at_shop(), promises=PROMISES, labels=LABELS)


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
