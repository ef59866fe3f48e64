"""Money for a spreadsheet: the stock's worth, what jobs cost, what was bought in vain. Amounts in whole currency."""

from __future__ import annotations

from datetime import date

from inventory.domain.common.csv_text import as_csv
from inventory.domain.common.quantity_text import amount
from inventory.domain.money.job_costs import job_costs
from inventory.domain.money.money_records import InVain
from inventory.domain.money.stock_value import value_on, value_over_months
from inventory.domain.money.wasted_purchases import bought_in_vain
from inventory.domain.stocktake.level_usage import at_job_trace
from shared.quantities import format_money


def _money(minor: int | None, currency: str) -> str:
    return "" if minor is None else format_money(minor, currency).rpartition(" ")[0]


def value_csv(day: date | None, zone: str, currency: str) -> str:
    """Return what the stock was worth at the end of a day as CSV, one line a part."""
    found = value_on(day, zone)
    head = ("day", "part", "name", "kind", "quantity", "unit", "worth", "currency", "lots", "lots without cost",
            "quantity without cost")  # fmt: skip
    return as_csv(head, (
        (found.day, one.part.number, one.part.name, one.part.kind, one.quantity, one.part.unit,
         _money(one.value_minor, currency), currency, one.lots, one.lots_without_cost, one.quantity_without_cost)
        for one in found.by_part
    ))  # fmt: skip


def months_csv(zone: str, currency: str) -> str:
    """Return what the stock was worth at the end of each month as CSV."""
    return as_csv(("day", "worth", "currency", "lots", "lots without cost"), (
        (one.day, _money(one.value_minor, currency), currency, one.lots, one.lots_without_cost)
        for one in value_over_months(zone=zone)
    ))  # fmt: skip


def in_vain_csv(currency: str) -> str:
    """Return what was bought in vain as CSV, one line for each thing that became of a lot."""
    head = ("job", "why", "part", "name", "lot", "supplier", "came in", "what became of it", "more", "quantity",
            "unit", "cost", "currency")  # fmt: skip
    return as_csv(head, (line for one in bought_in_vain().items for line in _in_vain_lines(one, currency)))


def _in_vain_lines(one: InVain, currency: str) -> list[tuple[object, ...]]:
    first = (
        one.job.number if one.job else "", one.why, one.part.number, one.part.name, one.lot.code, one.supplier,
        one.lot.received.date(),
    )  # fmt: skip
    return [
        (*first, f.word, f.told, f.quantity, one.part.unit, _money(f.cost_minor, currency), currency)
        for f in one.fates
    ]  # fmt: skip


def job_costs_csv(since: date | None, until: date | None, zone: str, currency: str) -> str:
    """Return what the jobs closed from *since* to *until* cost as CSV, one line a job."""
    head = ("job", "customer", "unit model", "closed", "parts", "shares of bottles and reels", "together", "currency",
            "costs not known")  # fmt: skip
    return as_csv(head, (
        (one.job.number, one.job.customer, one.job.unit_model, one.job.closed.date() if one.job.closed else "",
         _money(one.lots_minor, currency), _money(one.shared_minor, currency), _money(one.cost_minor, currency),
         currency, one.costs_unknown)
        for one in job_costs(since, until, zone)
    ))  # fmt: skip


def job_cost_csv(job_id: int, currency: str) -> str:
    """Return what one job cost as CSV, one line a lot and one a share of a bottle or reel."""
    found = at_job_trace(job_id)
    number = found.trace.job.number
    lots = [
        (number, one.part.number, one.part.name, one.lot.code, one.origin.words, amount(one.quantity, one.part),
         _money(one.cost_minor, currency), currency)
        for one in found.trace.used
    ]  # fmt: skip
    shares = [
        (number, one.part.number, one.part.name, one.lot.code, f"share of {one.jobs} jobs",
         amount(one.amount, one.part), _money(one.cost_minor, currency), currency)
        for one in found.shared
    ]  # fmt: skip
    return as_csv(("job", "part", "name", "lot", "from", "quantity", "cost", "currency"), [*lots, *shares])
