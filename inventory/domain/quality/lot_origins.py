"""Says where lots came from: which supplier and order at what price, which donor and why, which job, which count."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from inventory.domain.common.records import LotRecord
from inventory.domain.quality.trace_records import Origin
from inventory.store.tables import Job, Order, OrderLine, Supplier, UnitModel


def origin_of(lot: LotRecord) -> Origin:
    """Return where one lot came from."""
    return origins_of([lot])[lot.id]


def origins_of(lots: Sequence[LotRecord]) -> dict[int, Origin]:
    """Return by id where each lot came from, with a fixed number of queries."""
    lines = OrderLine.select(OrderLine, Order).join(Order)
    orders = {one.id: one.order for one in lines.where(OrderLine.id << {one.order_line_id for one in lots})}
    sellers = {one.id: one.name for one in Supplier.select().where(Supplier.id << {one.supplier_id for one in lots})}
    jobs = {one.id: one for one in Job.select().where(Job.id << {one.job_id for one in lots})}
    models = UnitModel.select().where(UnitModel.id << {one.unit_model_id for one in jobs.values()})
    names = {one.id: one.name for one in models}
    return {one.id: _origin(one, orders, sellers, jobs, names) for one in lots}


def _origin(
    lot: LotRecord, orders: dict[int, Any], sellers: dict[int, str], jobs: dict[int, Any], models: dict[int, str]
) -> Origin:
    note = f" {lot.origin_note.rstrip('.')}." if lot.origin_note else ""
    job = jobs.get(lot.job_id or 0)
    if lot.origin == "delivery":
        return _delivery(lot, orders.get(lot.order_line_id or 0), sellers.get(lot.supplier_id or 0, ""), note)
    if lot.origin == "donor":
        return Origin(_donor_words(job), _donor(lot, job, models) + note, job_id=lot.job_id)
    if lot.origin == "left over":
        words = f"left over from job {job.number}" if job else "left over from a job"
        return Origin(words, f"It was {words} and not needed.{note}", job_id=lot.job_id)
    return Origin("found", f"It was found on {lot.received:%d %b %Y}, and where it came from is not known.{note}")


def _delivery(lot: LotRecord, order: Any, seller: str, note: str) -> Origin:
    words = seller or "a supplier not noted"
    on = f" on order {order.number}, placed {order.placed:%d %b %Y}" if order is not None and order.placed else ""
    told = f"Delivered by {words} on {lot.received:%d %b %Y}{on}.{note}"
    return Origin(
        words, told, supplier_id=lot.supplier_id, order_id=None if order is None else order.id,
        order_number="" if order is None else order.number,
    )  # fmt: skip


def _donor_words(job: Any) -> str:
    return f"donor unit of job {job.number}" if job else "a donor unit"


def _donor(lot: LotRecord, job: Any, models: dict[int, str]) -> str:
    model = models.get(job.unit_model_id, "") if job else ""
    state = {True: ", which worked", False: ", which did not work", None: ", and whether it worked was not noted"}
    why = f" It was given up because of this: {job.found.rstrip('.')}." if job and job.found else ""
    named = f"{model} of job {job.number}" if model else _donor_words(job)
    return f"Taken out of the {named.removeprefix('a ')}{state[lot.donor_worked]}.{why}"
