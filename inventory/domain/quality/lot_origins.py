"""Says where lots came from: which supplier and order at what price, which donor and why, which job, which count."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from inventory.domain.common.records import LotRecord
from inventory.domain.quality.trace_records import LotOrigin
from inventory.store.tables import Job, Order, OrderLine, Supplier, UnitModel


def lot_origin(lot: LotRecord) -> LotOrigin:
    """Return where one lot came from."""
    return lot_origins([lot])[lot.id]


def lot_origins(lots: Sequence[LotRecord]) -> dict[int, LotOrigin]:
    """Return by id where each lot came from, with a fixed number of queries."""
    lines = OrderLine.select(OrderLine, Order).join(Order)
    orders = {line.id: line.order for line in lines.where(OrderLine.id << {lot.order_line_id for lot in lots})}
    suppliers = {
        supplier.id: supplier.name
        for supplier in Supplier.select().where(Supplier.id << {lot.supplier_id for lot in lots})
    }
    jobs = {job.id: job for job in Job.select().where(Job.id << {lot.job_id for lot in lots})}
    models = UnitModel.select().where(UnitModel.id << {job.unit_model_id for job in jobs.values()})
    names = {model.id: model.name for model in models}
    return {lot.id: _origin_from_rows(lot, orders, suppliers, jobs, names) for lot in lots}


def _origin_from_rows(
    lot: LotRecord, orders: dict[int, Any], suppliers: dict[int, str], jobs: dict[int, Any], models: dict[int, str]
) -> LotOrigin:
    note = f" {lot.origin_note.rstrip('.')}." if lot.origin_note else ""
    job = jobs.get(lot.job_id or 0)
    if lot.origin == "delivery":
        return _delivery_origin(
            lot, orders.get(lot.order_line_id or 0), suppliers.get(lot.supplier_id or 0, ""), note
        )
    if lot.origin == "donor":
        return LotOrigin(_donor_label(job), _donor_sentence(lot, job, models) + note, job_id=lot.job_id)
    if lot.origin == "left over":
        label = f"left over from job {job.number}" if job else "left over from a job"
        return LotOrigin(label, f"It was {label} and not needed.{note}", job_id=lot.job_id)
    return LotOrigin("found", f"It was found on {lot.received:%d %b %Y}, and where it came from is not known.{note}")


def _delivery_origin(lot: LotRecord, order: Any, supplier: str, note: str) -> LotOrigin:
    label = supplier or "a supplier not noted"
    on = f" on order {order.number}, placed {order.placed:%d %b %Y}" if order is not None and order.placed else ""
    sentence = f"Delivered by {label} on {lot.received:%d %b %Y}{on}.{note}"
    return LotOrigin(
        label, sentence, supplier_id=lot.supplier_id, order_id=None if order is None else order.id,
        order_number="" if order is None else order.number,
    )  # fmt: skip


def _donor_label(job: Any) -> str:
    return f"donor unit of job {job.number}" if job else "a donor unit"


def _donor_sentence(lot: LotRecord, job: Any, models: dict[int, str]) -> str:
    model = models.get(job.unit_model_id, "") if job else ""
    state = {True: ", which worked", False: ", which did not work", None: ", and whether it worked was not noted"}
    reason = f" It was given up because of this: {job.found.rstrip('.')}." if job and job.found else ""
    named = f"{model} of job {job.number}" if model else _donor_label(job)
    return f"Taken out of the {named.removeprefix('a ')}{state[lot.donor_worked]}.{reason}"
