"""Money as CSV: the value of the stock, what jobs cost, wasted purchases. Amounts in whole currency."""

from __future__ import annotations

from datetime import date

from inventory.domain.common.csv_text import as_csv
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.money.job_costs import job_costs
from inventory.domain.money.money_records import WastedPurchase
from inventory.domain.money.stock_value import stock_value_by_month, stock_value_on
from inventory.domain.money.wasted_purchases import wasted_purchases
from inventory.domain.stocktake.level_usage import full_job_trace
from shared.quantities import format_money


def _amount_text(minor: int | None, currency: str) -> str:
    return "" if minor is None else format_money(minor, currency).rpartition(" ")[0]


def stock_value_csv(day: date | None, zone: str, currency: str) -> str:
    """Return what the stock was worth at the end of a day as CSV, one line a part."""
    report = stock_value_on(day, zone)
    header = ("day", "part", "name", "kind", "quantity", "unit", "worth", "currency", "lots", "lots without cost",
            "quantity without cost")  # fmt: skip
    return as_csv(header, (
        (
            report.day, value.part.number, value.part.name, value.part.kind, value.quantity, value.part.unit,
            _amount_text(value.value_minor, currency), currency, value.lots, value.lots_without_cost,
            value.quantity_without_cost,
        )
        for value in report.by_part
    ))  # fmt: skip


def stock_value_by_month_csv(zone: str, currency: str) -> str:
    """Return what the stock was worth at the end of each month as CSV."""
    return as_csv(("day", "worth", "currency", "lots", "lots without cost"), (
        (month.day, _amount_text(month.value_minor, currency), currency, month.lots, month.lots_without_cost)
        for month in stock_value_by_month(zone=zone)
    ))  # fmt: skip


def wasted_purchases_csv(currency: str) -> str:
    """Return wasted purchases as CSV, one line for each thing that became of a lot."""
    header = ("job", "why", "part", "name", "lot", "supplier", "came in", "what became of it", "more", "quantity",
            "unit", "cost", "currency")  # fmt: skip
    return as_csv(
        header, (line for purchase in wasted_purchases().items for line in _wasted_purchase_rows(purchase, currency))
    )


def _wasted_purchase_rows(purchase: WastedPurchase, currency: str) -> list[tuple[object, ...]]:
    shared_columns = (
        purchase.job.number if purchase.job else "", purchase.why, purchase.part.number, purchase.part.name,
        purchase.lot.code, purchase.supplier,
        purchase.lot.received.date(),
    )  # fmt: skip
    return [
        (
            *shared_columns, fate.word, fate.told, fate.quantity, purchase.part.unit,
            _amount_text(fate.cost_minor, currency), currency,
        )
        for fate in purchase.fates
    ]  # fmt: skip


def job_costs_csv(since: date | None, until: date | None, zone: str, currency: str) -> str:
    """Return what the jobs closed from *since* to *until* cost as CSV, one line a job."""
    header = ("job", "customer", "unit model", "closed", "parts", "shares of bottles and reels", "together",
              "currency", "costs not known")  # fmt: skip
    return as_csv(header, (
        (
            cost.job.number, cost.job.customer, cost.job.unit_model,
            cost.job.closed.date() if cost.job.closed else "", _amount_text(cost.lots_minor, currency),
            _amount_text(cost.shared_minor, currency), _amount_text(cost.cost_minor, currency), currency,
            cost.costs_unknown,
        )
        for cost in job_costs(since, until, zone)
    ))  # fmt: skip


def job_cost_csv(job_id: int, currency: str) -> str:
    """Return what one job cost as CSV, one line a lot and one a share of a bottle or reel."""
    trace = full_job_trace(job_id)
    number = trace.trace.job.number
    lots = [
        (number, row.part.number, row.part.name, row.lot.code, row.origin.words,
         quantity_text(row.quantity, row.part), _amount_text(row.cost_minor, currency), currency)
        for row in trace.trace.used
    ]  # fmt: skip
    shares = [
        (number, row.part.number, row.part.name, row.lot.code, f"share of {row.jobs} jobs",
         quantity_text(row.amount, row.part), _amount_text(row.cost_minor, currency), currency)
        for row in trace.shared
    ]  # fmt: skip
    return as_csv(("job", "part", "name", "lot", "from", "quantity", "cost", "currency"), [*lots, *shares])
