"""Money for a spreadsheet: the stock's worth, what jobs cost, what was bought in vain. Amounts in whole currency."""

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
    found = stock_value_on(day, zone)
    head = ("day", "part", "name", "kind", "quantity", "unit", "worth", "currency", "lots", "lots without cost",
            "quantity without cost")  # fmt: skip
    return as_csv(
        head,
        (
            (
                found.day,
                one.part.number,
                one.part.name,
                one.part.kind,
                one.quantity,
                one.part.unit,
                _amount_text(one.value_minor, currency),
                currency,
                one.lots,
                one.lots_without_cost,
                one.quantity_without_cost,
            )
            for one in found.by_part
        ),
    )


def stock_value_by_month_csv(zone: str, currency: str) -> str:
    """Return what the stock was worth at the end of each month as CSV."""
    return as_csv(("day", "worth", "currency", "lots", "lots without cost"), (
        (one.day, _amount_text(one.value_minor, currency), currency, one.lots, one.lots_without_cost)
        for one in stock_value_by_month(zone=zone)
    ))  # fmt: skip


def wasted_purchases_csv(currency: str) -> str:
    """Return what was bought in vain as CSV, one line for each thing that became of a lot."""
    head = ("job", "why", "part", "name", "lot", "supplier", "came in", "what became of it", "more", "quantity",
            "unit", "cost", "currency")  # fmt: skip
    return as_csv(
        head, (line for purchase in wasted_purchases().items for line in _wasted_purchase_rows(purchase, currency))
    )


def _wasted_purchase_rows(one: WastedPurchase, currency: str) -> list[tuple[object, ...]]:
    first = (
        one.job.number if one.job else "", one.why, one.part.number, one.part.name, one.lot.code, one.supplier,
        one.lot.received.date(),
    )  # fmt: skip
    return [
        (*first, f.word, f.told, f.quantity, one.part.unit, _amount_text(f.cost_minor, currency), currency)
        for f in one.fates
    ]  # fmt: skip


def job_costs_csv(since: date | None, until: date | None, zone: str, currency: str) -> str:
    """Return what the jobs closed from *since* to *until* cost as CSV, one line a job."""
    head = ("job", "customer", "unit model", "closed", "parts", "shares of bottles and reels", "together", "currency",
            "costs not known")  # fmt: skip
    return as_csv(
        head,
        (
            (
                cost.job.number,
                cost.job.customer,
                cost.job.unit_model,
                cost.job.closed.date() if cost.job.closed else "",
                _amount_text(cost.lots_minor, currency),
                _amount_text(cost.shared_minor, currency),
                _amount_text(cost.cost_minor, currency),
                currency,
                cost.costs_unknown,
            )
            for cost in job_costs(since, until, zone)
        ),
    )


def job_cost_csv(job_id: int, currency: str) -> str:
    """Return what one job cost as CSV, one line a lot and one a share of a bottle or reel."""
    found = full_job_trace(job_id)
    number = found.trace.job.number
    lots = [
        (
            number,
            one.part.number,
            one.part.name,
            one.lot.code,
            one.origin.words,
            quantity_text(one.quantity, one.part),
            _amount_text(one.cost_minor, currency),
            currency,
        )
        for one in found.trace.used
    ]
    shares = [
        (number, one.part.number, one.part.name, one.lot.code, f"share of {one.jobs} jobs",
         quantity_text(one.amount, one.part), _amount_text(one.cost_minor, currency), currency)
        for one in found.shared
    ]  # fmt: skip
    return as_csv(("job", "part", "name", "lot", "from", "quantity", "cost", "currency"), [*lots, *shares])
