"""Money: what the stock is worth and was, what jobs cost, what was bought in vain; for a spreadsheet too."""

from __future__ import annotations

from flask import Response, g, make_response, render_template

from inventory.domain.common.errors import Invalid
from inventory.domain.jobs.jobs import job
from inventory.domain.money import money_csv as domain
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.forms import DateField, Form, load_query, query_value
from inventory.pages.money.money_screen import MoneyScreen, money_screen
from inventory.pages.money.stock_value_chart import value_chart
from inventory.web.access import require_role
from inventory.web.downloads import csv_response
from shared.quantities import CURRENCY_EXPONENTS


class ClosedJobsForm(Form):
    """The first and the last day of a time."""

    since = DateField()
    until = DateField()


@pages.get("/money")
@require_role("owner")
def money() -> Response:
    """Show what the stock is worth, what jobs cost lately, and what was bought in vain."""
    try:
        return make_response(_render_money(money_screen(query_value("on", DateField()), settings().timezone)))
    except Invalid as refused:
        g.refused = refused
        return make_response(_render_money(money_screen(None, settings().timezone)), refused.status)


def _render_money(screen: MoneyScreen) -> str:
    chart = value_chart(screen.months, 10 ** CURRENCY_EXPONENTS.get(settings().currency, 2))
    return render_template("money/money.html", screen=screen, value=screen.value, chart=chart)


@pages.get("/money/value.csv")
@require_role("owner")
def stock_value_csv() -> Response:
    """Send what the stock was worth on a day, by part."""
    on = query_value("on", DateField())
    return csv_response(
        domain.stock_value_csv(on, settings().timezone, settings().currency), f"stock-worth-{on or 'now'}"
    )


@pages.get("/money/months.csv")
@require_role("owner")
def stock_value_months_csv() -> Response:
    """Send what the stock was worth at the end of each month."""
    return csv_response(
        domain.stock_value_by_month_csv(settings().timezone, settings().currency), "stock-worth-by-month"
    )


@pages.get("/money/in-vain.csv")
@require_role("owner")
def wasted_purchases_csv() -> Response:
    """Send what was bought in vain."""
    return csv_response(domain.wasted_purchases_csv(settings().currency), "bought-in-vain")


@pages.get("/money/jobs.csv")
@require_role("owner")
def job_costs_csv() -> Response:
    """Send what the jobs closed in a time cost."""
    query = load_query(ClosedJobsForm)
    text = domain.job_costs_csv(query["since"], query["until"], settings().timezone, settings().currency)
    return csv_response(text, "job-costs")


@pages.get("/jobs/<int:key>/cost.csv")
def job_cost_csv(key: int) -> Response:
    """Send what one job cost, lot by lot."""
    return csv_response(domain.job_cost_csv(key, settings().currency), f"job-{job(key).code}-cost")
