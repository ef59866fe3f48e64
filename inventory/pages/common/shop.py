"""The shop's own decisions: what is promised, and the constants that the reckoning uses."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version
from typing import Any

from flask import current_app, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.pages import pages
from inventory.pages.common import shop_screen
from inventory.pages.form_actions import form_action
from inventory.web.access import require_role

PROMISE_LABELS = {
    "no_stock_out": "nothing runs dry before the next delivery",
    "next_job": "the next job finds all that it wants",
}
SETTING_LABELS = {
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
    "line_cost_minor": "Cost of one line of an order",
    "holding_share": "Cost of holding stock for a year, as a share",
    "most_years": "Most years of use to lay in",
    "lines_a_parcel": "Lines that share a parcel",
    "mask": "Mask: a fault that hides in a run",
    "misread": "Misread: a good unit seen failing",
    "mask_intermittent": "Mask of a fault that comes and goes",
    "measured_finds": "A measurement calls a bad one bad",
    "measured_passes": "A measurement calls a good one good",
    "repair_spoils": "Mending spoils what was good",
    "repair_fails": "Mending leaves bad what was bad",
    "prior_faults": "Faults spread evenly over the suspects",
    "prior_elsewhere": "Share of them not on the list",
    "faults_before": "Faults of a unit before it complains",
    "minutes_measure": "Minutes to measure a suspect",
    "minutes_swap": "Minutes to swap a spare in, and run",
    "minutes_back": "Minutes to put the old one back",
    "minutes_fit": "Minutes to fit a new part, and run",
    "minutes_repair": "Minutes to mend a line or joint, and run",
    "minutes_proof": "Minutes to prove a spare",
    "minute_minor": "A minute at the bench",
    "waiting_day_minor": "A day that a unit waits",
    "give_up_minor": "A unit handed back unmended",
    "come_back_minor": "A unit that comes back",
    "recovered_share": "What a part bought in vain recovers, as a share",
    "hour_minor": "A customer pays for an hour",
    "markup": "A customer pays for a part on top, as a share",
    "ready_days": "Days from having everything to ready",
}


@pages.get("/shop")
@require_role("owner")
def shop() -> str:
    """Show what the shop promises and reckons with."""
    return render_template(
        "common/shop.html", screen=shop_screen.shop_screen(), promises=PROMISE_LABELS, labels=SETTING_LABELS
    )


@pages.post("/shop")
@require_role("owner")
@form_action(shop)
def edit_shop() -> Response:
    """Change the shop's decisions."""
    texts: dict[str, Any] = {name: text.strip() for name, text in request.form.items()}
    shop_screen.edit_shop_from_form(texts)
    flash("The shop's decisions are kept; the reorder list goes by them from now on.", "good")
    return redirect(url_for("pages.shop"), 303)


@pages.get("/more")
def more() -> str:
    """Show the ways to everything else."""
    has_api = any(rule.rule == "/api/" for rule in current_app.url_map.iter_rules())
    return render_template("common/more.html", version=_version(), has_api=has_api)


def _version() -> str:
    try:
        return version("benchproof")
    except PackageNotFoundError:
        return ""
