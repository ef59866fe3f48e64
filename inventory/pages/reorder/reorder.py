"""The reorder list: what to order now, how many, from whom, and why; each part's whole reckoning behind it."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying.order_records import Advice
from inventory.domain.common.shop import HIGHEST_TARGET, LEAST_TARGET
from inventory.domain.reorder import order_suggestions, reorder_reasons
from inventory.domain.reorder import reorder_list as stock
from inventory.pages import pages
from inventory.pages.catalogue import part_screen
from inventory.pages.common.shop import PROMISES
from inventory.pages.form_actions import acts
from inventory.pages.form_fields import Percent
from inventory.pages.forms import Form, Key, Text, read_form
from inventory.pages.reorder import demand_chart


class Keep(Form):
    """How many to keep of a part: a fixed level, a promise of its own, or neither."""

    level = Text()
    target = Percent(LEAST_TARGET, HIGHEST_TARGET)
    promise = Text()
    version = Key()


@pages.app_template_filter()
def stands(advice: Advice) -> str:
    """Say in one line how the position of a part adds up, and where it is against the reorder point."""
    return reorder_reasons.stands(advice)


def show() -> str:
    """Show what to order now, by supplier, the most urgent first."""
    return render_template("reorder/reorder.html", orders=order_suggestions.suggested_orders())


@pages.get("/reorder")
def reorder() -> str:
    """Show what to order now."""
    return show()


def _reckoning(key: int) -> str:
    found = stock.reckoning_of(key)
    return render_template(
        "reorder/reckoning.html",
        found=found,
        advice=found.advice,
        part=found.advice.part,
        chart=demand_chart.spread_chart(found),
        promises=PROMISES,
    )


@pages.get("/parts/<int:key>/reckoning")
def reckoning(key: int) -> str:
    """Show everything behind one part's advice."""
    return _reckoning(key)


@pages.post("/parts/<int:key>/keep")
@acts(_reckoning)
def keep_on(key: int) -> Response:
    """Fix the level of a part or its promise, or let both be worked out again."""
    typed = read_form(Keep)
    kept = part_screen.keep_on(key, typed["version"], typed["level"], typed["target"], typed["promise"] or None)
    flash("The level is fixed." if kept.level is not None else "The level is worked out from use.", "good")
    return redirect(url_for("pages.reckoning", key=key), 303)
