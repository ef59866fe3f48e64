"""What a notice to a customer begins with: told by the job's suspects, its needs, the shelf, orders and suppliers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from inventory.domain.buying.expected_deliveries import expected
from inventory.domain.catalogue.stock_totals import stocks
from inventory.domain.common import clock
from inventory.domain.common.quantity_text import amount
from inventory.domain.common.records import JobRecord, NeedRecord, Stock, SuspectRecord
from inventory.domain.common.shop import Shop, shop
from inventory.domain.jobs import jobs
from inventory.domain.money.job_costs import cost_of
from inventory.domain.money.notice_records import DraftLine, NoticeDraft
from inventory.domain.reorder.unit_purchases import OneMore, one_more


def draft(job_id: int) -> NoticeDraft:
    """Return what the notice of a job begins with.

    A part's price is what one more costs, or what the lots cost of what was fitted, plus the shop's mark-up. It is
    here when the shelf has enough for every job that wants it; on the way, on the day that its order is expected;
    else once nine in ten deliveries would have come.
    """
    job, own, wanted = jobs.job(job_id), shop(), [one for one in jobs.needs(job_id) if one.missing]
    prices = one_more([one.part.id for one in wanted], own)
    there = stocks([one.part.id for one in wanted])
    lines = [_line(one, prices[one.part.id], there.get(one.part.id), own) for one in wanted]
    minutes = own.minutes_fit * max(1, len(wanted))
    ready = max([one.here for one in lines], default=clock.today()) + timedelta(days=own.ready_days)
    return NoticeDraft(
        job, _found(job, jobs.suspects(job_id)), (*_fitted(job_id, own), *lines),
        round(own.hour_minor * minutes / 60), minutes, ready, any("mains" in one.part.hazards for one in wanted),
    )  # fmt: skip


def _found(job: JobRecord, suspects: Iterable[SuspectRecord]) -> str:
    bad = [one.name for one in suspects if one.verdict == "bad"]
    said = [job.found] if job.found else []
    if bad:
        said.append(f"Faulty: {', '.join(bad)}.")
    return "\n".join(said)


def _fitted(job_id: int, own: Shop) -> list[DraftLine]:
    """Return the line for what the job has had so far, if that cost anything."""
    cost = cost_of(job_id)
    if not cost.cost_minor:
        return []
    more = f"; of {cost.costs_unknown} no cost is known" if cost.costs_unknown else ""
    return [DraftLine("Parts fitted so far", _charged(cost.cost_minor, own), f"is in{more}", clock.today())]


def _charged(cost_minor: float, own: Shop) -> int:
    return round(cost_minor * (1 + own.markup))


def _line(need: NeedRecord, price: OneMore, there: Stock | None, own: Shop) -> DraftLine:
    cost = _charged(price.price_minor * need.missing, own) if price.price_known else None
    where, here = _arrives(need, price, there)
    return DraftLine(f"{amount(need.missing, need.part)} of {need.part.name}", cost, where, here)


def _arrives(need: NeedRecord, price: OneMore, there: Stock | None) -> tuple[str, date]:
    """Say where what is missing would come from, and the day on which it would be here."""
    today = clock.today()
    if there is not None and there.on_shelf >= there.promised:
        return "on the shelf", today
    if there is not None and there.on_shelf + there.on_order >= there.promised:
        days = [one.order.expected for one in expected(need.part.id) if one.order.expected is not None]
        if days and max(days) >= today:
            return f"ordered, expected {max(days).day} {max(days):%b}", max(days)
    whom = f" from {price.supplier}" if price.known else ""
    here = today + timedelta(days=price.within_days)
    return f"to be ordered{whom}: nine in ten come within {price.within_days} days", here
