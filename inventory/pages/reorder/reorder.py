"""The reorder list: what to order now, how many, from whom, and why; each part's whole reckoning behind it."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying.order_records import ReorderAdvice
from inventory.domain.common.validation import MAX_TARGET, MIN_TARGET
from inventory.domain.reorder import forecast_report, order_suggestions, reorder_reasons
from inventory.domain.reorder import reorder_list as domain
from inventory.pages import pages
from inventory.pages.catalogue import part_screen
from inventory.pages.common.shop import PROMISE_LABELS
from inventory.pages.form_actions import form_action
from inventory.pages.form_fields import PercentField
from inventory.pages.forms import Form, IdField, TextField, load_form
from inventory.pages.reorder import demand_chart
from inventory.pages.reorder.forecast_chart import risk_chart
from inventory.web.access import require_role


class StockTargetForm(Form):
    """How many to keep of a part: a fixed level, a promise of its own, or neither."""

    level = TextField()
    target = PercentField(MIN_TARGET, MAX_TARGET)
    promise = TextField()
    version = IdField()


@pages.app_template_filter()
def position_sentence(advice: ReorderAdvice) -> str:
    """Say in one line how the position of a part adds up, and where it is against the reorder point."""
    return reorder_reasons.describe_position(advice)


@pages.get("/reorder")
def reorder() -> str:
    """Show what to order now."""
    return render_template("reorder/reorder.html", orders=order_suggestions.suggested_orders())


@pages.get("/parts/<int:key>/reckoning")
def reckoning(key: int) -> str:
    """Show everything behind one part's advice."""
    explanation = domain.explain_advice(key)
    return render_template(
        "reorder/reckoning.html",
        explanation=explanation,
        advice=explanation.advice,
        part=explanation.advice.part,
        chart=demand_chart.demand_chart(explanation),
        promises=PROMISE_LABELS,
    )


@pages.post("/parts/<int:key>/keep")
@form_action(reckoning)
def set_stock_target(key: int) -> Response:
    """Fix the level of a part or its promise, or let both be worked out again."""
    data = load_form(StockTargetForm)
    part = part_screen.set_stock_target(key, data["version"], data["level"], data["target"], data["promise"] or None)
    flash("The level is fixed." if part.level is not None else "The level is worked out from use.", "good")
    return redirect(url_for("pages.reckoning", key=key), 303)


@pages.get("/promises")
@require_role("owner")
def forecasts() -> str:
    """Show promised against achieved, with honest counts."""
    report = forecast_report.forecast_report()
    return render_template(
        "reorder/forecasts.html", report=report, promises=PROMISE_LABELS, chart=risk_chart(report.risks)
    )
