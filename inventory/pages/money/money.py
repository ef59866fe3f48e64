"""Money: what the stock is worth and was, what jobs cost, what was bought in vain; for a spreadsheet too."""

from __future__ import annotations

from flask import Response, g, make_response, render_template

from inventory.domain.common.errors import Invalid
from inventory.domain.jobs.jobs import job
from inventory.domain.money import money_csv as stock
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.forms import Day, Form, read_query
from inventory.pages.money.money_screen import AtMoney, at_money
from inventory.pages.money.stock_value_chart import value_chart
from inventory.web.access import for_role
from shared.quantities import EXPONENTS


class OnDay(Form):
    """The day whose end is meant; blank: now."""

    on = Day()


class Span(Form):
    """The first and the last day of a time."""

    since = Day()
    until = Day()


@pages.get("/money")
@for_role("owner")
def money() -> Response:
    """Show what the stock is worth, what jobs cost lately, and what was bought in vain."""
    try:
        return make_response(_shown(at_money(read_query(OnDay)["on"], settings().timezone)))
    except Invalid as refused:
        g.refused = refused
        return make_response(_shown(at_money(None, settings().timezone)), refused.status)


def _shown(at: AtMoney) -> str:
    chart = value_chart(at.months, 10 ** EXPONENTS.get(settings().currency, 2))
    return render_template("money/money.html", at=at, value=at.value, chart=chart)


@pages.get("/money/value.csv")
@for_role("owner")
def value_csv() -> Response:
    """Send what the stock was worth on a day, by part."""
    on = read_query(OnDay)["on"]
    return _sent(stock.value_csv(on, settings().timezone, settings().currency), f"stock-worth-{on or 'now'}")


@pages.get("/money/months.csv")
@for_role("owner")
def months_csv() -> Response:
    """Send what the stock was worth at the end of each month."""
    return _sent(stock.months_csv(settings().timezone, settings().currency), "stock-worth-by-month")


@pages.get("/money/in-vain.csv")
@for_role("owner")
def in_vain_csv() -> Response:
    """Send what was bought in vain."""
    return _sent(stock.in_vain_csv(settings().currency), "bought-in-vain")


@pages.get("/money/jobs.csv")
@for_role("owner")
def job_costs_csv() -> Response:
    """Send what the jobs closed in a time cost."""
    asked = read_query(Span)
    text = stock.job_costs_csv(asked["since"], asked["until"], settings().timezone, settings().currency)
    return _sent(text, "job-costs")


@pages.get("/jobs/<int:key>/cost.csv")
def job_cost_csv(key: int) -> Response:
    """Send what one job cost, lot by lot."""
    return _sent(stock.job_cost_csv(key, settings().currency), f"job-{job(key).code}-cost")


def _sent(text: str, name: str) -> Response:
    return Response(
        text, content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.csv"'},
    )  # fmt: skip
