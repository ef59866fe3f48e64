"""What a notice to a customer begins with: told by the job's suspects, its needs, the shelf, orders and suppliers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from inventory.domain.buying.expected_deliveries import expected_deliveries
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
    """Return what the notice of a job begins with.

    A part's price is what one more costs, or what the lots cost of what was fitted, plus the shop's mark-up. It is
    here when the shelf has enough for every job that wants it; on the way, on the day that its order is expected;
    else once nine in ten deliveries would have come.
    """
    job, own, wanted = jobs.job(job_id), shop_config(), [need for need in jobs.needs(job_id) if need.missing]
    prices = unit_purchases([one.part.id for one in wanted], own)
    there = stock_by_part([one.part.id for one in wanted])
    lines = [_draft_line(one, prices[one.part.id], there.get(one.part.id), own) for one in wanted]
    minutes = own.minutes_fit * max(1, len(wanted))
    ready = max([line.here for line in lines], default=clock.today()) + timedelta(days=own.ready_days)
    return NoticeDraft(
        job, _findings(job, jobs.suspects(job_id)), (*_fitted_parts_lines(job_id, own), *lines),
        round(own.hour_minor * minutes / 60), minutes, ready, any("mains" in one.part.hazards for one in wanted),
    )  # fmt: skip


def _findings(job: JobRecord, suspects: Iterable[SuspectRecord]) -> str:
    bad = [suspect.name for suspect in suspects if suspect.verdict == "bad"]
    said = [job.found] if job.found else []
    if bad:
        said.append(f"Faulty: {', '.join(bad)}.")
    return "\n".join(said)


def _fitted_parts_lines(job_id: int, own: ShopConfig) -> list[NoticeDraftLine]:
    """Return the line for what the job has had so far, if that cost anything."""
    cost = cost_of_job(job_id)
    if not cost.cost_minor:
        return []
    more = f"; of {cost.costs_unknown} no cost is known" if cost.costs_unknown else ""
    return [NoticeDraftLine("Parts fitted so far", _with_markup(cost.cost_minor, own), f"is in{more}", clock.today())]


def _with_markup(cost_minor: float, own: ShopConfig) -> int:
    return round(cost_minor * (1 + own.markup))


def _draft_line(need: NeedRecord, price: UnitPurchase, there: StockTotals | None, own: ShopConfig) -> NoticeDraftLine:
    cost = _with_markup(price.price_minor * need.missing, own) if price.price_known else None
    where, here = _availability(need, price, there)
    return NoticeDraftLine(f"{quantity_text(need.missing, need.part)} of {need.part.name}", cost, where, here)


def _availability(need: NeedRecord, price: UnitPurchase, there: StockTotals | None) -> tuple[str, date]:
    """Say where what is missing would come from, and the day on which it would be here."""
    today = clock.today()
    if there is not None and there.on_shelf >= there.promised:
        return "on the shelf", today
    if there is not None and there.on_shelf + there.on_order >= there.promised:
        days = [
            delivery.order.expected
            for delivery in expected_deliveries(need.part.id)
            if delivery.order.expected is not None
        ]
        if days and max(days) >= today:
            return f"ordered, expected {max(days).day} {max(days):%b}", max(days)
    whom = f" from {price.supplier}" if price.known else ""
    here = today + timedelta(days=price.within_days)
    return f"to be ordered{whom}: nine in ten come within {price.within_days} days", here
