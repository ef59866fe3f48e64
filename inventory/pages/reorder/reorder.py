"""The reorder list: what to order now, how many, from whom, and why; each part's whole reckoning behind it."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying.order_records import ReorderAdvice
from inventory.domain.common.validation import MAX_TARGET, MIN_TARGET
from inventory.domain.reorder import order_suggestions, reorder_reasons
from inventory.domain.reorder import reorder_list as domain
from inventory.pages import pages
from inventory.pages.catalogue import part_screen
from inventory.pages.common.shop import PROMISE_LABELS
from inventory.pages.form_actions import form_action
from inventory.pages.form_fields import PercentField
from inventory.pages.forms import Form, IdField, TextField, load_form
from inventory.pages.reorder import demand_chart


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


def render_reorder() -> str:
    """Show what to order now, by supplier, the most urgent first."""
    return render_template("reorder/reorder.html", orders=order_suggestions.suggested_orders())


@pages.get("/reorder")
def reorder() -> str:
    """Show what to order now."""
    return render_reorder()


def _render_reckoning(key: int) -> str:
    found = domain.explain_advice(key)
    return render_template(
        "reorder/reckoning.html",
        found=found,
        advice=found.advice,
        part=found.advice.part,
        chart=demand_chart.demand_chart(found),
        promises=PROMISE_LABELS,
    )


@pages.get("/parts/<int:key>/reckoning")
def reckoning(key: int) -> str:
    """Show everything behind one part's advice."""
    return _render_reckoning(key)


@pages.post("/parts/<int:key>/keep")
@form_action(_render_reckoning)
def set_stock_target(key: int) -> Response:
    """Fix the level of a part or its promise, or let both be worked out again."""
    typed = load_form(StockTargetForm)
    kept = part_screen.set_stock_target(
        key, typed["version"], typed["level"], typed["target"], typed["promise"] or None
    )
    flash("The level is fixed." if kept.level is not None else "The level is worked out from use.", "good")
    return redirect(url_for("pages.reckoning", key=key), 303)
