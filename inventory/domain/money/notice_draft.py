"""Drafts a notice to a customer from the job's suspects and needs, the stock, orders and suppliers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from inventory.domain.buying.orders import expected_deliveries
from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common import clock
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import JobRecord, NeedRecord, StockTotals, SuspectRecord
from inventory.domain.common.shop import ShopConfig, shop_config
from inventory.domain.jobs import jobs
from inventory.domain.money.job_costs import cost_of_job
from inventory.domain.money.notice_records import NoticeDraft, NoticeDraftLine
from inventory.domain.reorder.unit_purchases import UnitPurchase, unit_purchases


def draft_notice(job_id: int) -> NoticeDraft:
    """Return the draft of a job's notice.

    A part's price is what one more costs, or what the lots cost of what was fitted, plus the shop's mark-up. It is
    here when the shelf has enough for every job that wants it; on the way, on the day that its order is expected;
    else once nine in ten deliveries would have come.
    """
    job, shop, needs = jobs.job(job_id), shop_config(), [need for need in jobs.needs(job_id) if need.missing]
    prices = unit_purchases([need.part.id for need in needs], shop)
    stock = stock_by_part([need.part.id for need in needs])
    lines = [_draft_line(need, prices[need.part.id], stock.get(need.part.id), shop) for need in needs]
    minutes = shop.minutes_fit * max(1, len(needs))
    ready = max([line.here for line in lines], default=clock.today()) + timedelta(days=shop.ready_days)
    return NoticeDraft(
        job, _findings(job, jobs.suspects(job_id)), (*_fitted_parts_lines(job_id, shop), *lines),
        round(shop.hour_minor * minutes / 60), minutes, ready, any("mains" in need.part.hazards for need in needs),
    )  # fmt: skip


def _findings(job: JobRecord, suspects: Iterable[SuspectRecord]) -> str:
    faulty = [suspect.name for suspect in suspects if suspect.verdict == "bad"]
    sentences = [job.found] if job.found else []
    if faulty:
        sentences.append(f"Faulty: {', '.join(faulty)}.")
    return "\n".join(sentences)


def _fitted_parts_lines(job_id: int, shop: ShopConfig) -> list[NoticeDraftLine]:
    """Return the line for what the job has had so far, if that cost anything."""
    cost = cost_of_job(job_id)
    if not cost.cost_minor:
        return []
    note = f"; of {cost.costs_unknown} no cost is known" if cost.costs_unknown else ""
    return [
        NoticeDraftLine("Parts fitted so far", _with_markup(cost.cost_minor, shop), f"is in{note}", clock.today())
    ]


def _with_markup(cost_minor: float, shop: ShopConfig) -> int:
    return round(cost_minor * (1 + shop.markup))


def _draft_line(
    need: NeedRecord, price: UnitPurchase, stock: StockTotals | None, shop: ShopConfig
) -> NoticeDraftLine:
    cost = _with_markup(price.price_minor * need.missing, shop) if price.price_known else None
    where, here = _availability(need, price, stock)
    return NoticeDraftLine(f"{quantity_text(need.missing, need.part)} of {need.part.name}", cost, where, here)


def _availability(need: NeedRecord, price: UnitPurchase, stock: StockTotals | None) -> tuple[str, date]:
    """Return where the missing parts would come from, and the day on which they would be here."""
    today = clock.today()
    if stock is not None and stock.on_shelf >= stock.promised:
        return "on the shelf", today
    if stock is not None and stock.on_shelf + stock.on_order >= stock.promised:
        days = [
            delivery.order.expected
            for delivery in expected_deliveries(need.part.id)
            if delivery.order.expected is not None
        ]
        if days and max(days) >= today:
            return f"ordered, expected {max(days).day} {max(days):%b}", max(days)
    origin = f" from {price.supplier}" if price.known else ""
    ready = today + timedelta(days=price.within_days)
    return f"to be ordered{origin}: nine in ten come within {price.within_days} days", ready
