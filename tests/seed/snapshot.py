"""What must be the same of the demo bench whenever it is loaded: times and days are told as those before its day."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time
from typing import Any

import peewee

from inventory.domain.alerts import today
from inventory.domain.catalogue import bins
from inventory.domain.diagnosis import diagnose, spare_value
from inventory.domain.jobs import jobs
from inventory.domain.proof import pieces
from inventory.domain.reorder import reorder_list
from inventory.store.fields import DayField, UtcField
from inventory.store.tables import Lot, all_tables

Stored = dict[str, list[dict[str, Any]]]

LEFT_OUT = {
    ("people", "passphrase"),  # salted
    ("movements", "digest"), ("ledger_head", "digest"),  # of the lines with their times
    ("notes", "value"),  # the day of loading
    ("notices", "text"),  # tells days in words; the days themselves are compared
}  # fmt: skip


def stored(day: date) -> Stored:
    """Return every row of every table by the table's name, in the order of their ids."""
    midnight = datetime.combine(day, time(), UTC)
    return {table._meta.table_name: _rows(table, day, midnight) for table in all_tables()}


def _rows(table: Any, day: date, midnight: datetime) -> list[dict[str, Any]]:
    name, fields = table._meta.table_name, table._meta.sorted_fields
    rows = table.select().order_by(*table._meta.get_primary_keys()).dicts()
    kept_fields = [field for field in fields if (name, field.column_name) not in LEFT_OUT]
    relative_rows = [
        {column.column_name: _relative(column, row[column.name], day, midnight) for column in kept_fields}
        for row in rows
    ]
    return [_without_weeks(column) for column in relative_rows] if table is Lot else relative_rows


def _relative(field: peewee.Field, value: Any, day: date, midnight: datetime) -> Any:
    if value is None:
        return None
    if isinstance(field, UtcField):
        return (value - midnight).total_seconds()
    return (value - day).days if isinstance(field, DayField) else value


def _without_weeks(lot: dict[str, Any]) -> dict[str, Any]:
    """Take the week of making out of a lot: it is printed on the bag, in the maker's lot, and in the bag's code."""
    week, maker_lot = lot["date_code"], lot["maker_lot"]
    code = lot["raw_code"].replace(maker_lot, "").replace(f"9D{week}", "9D") if week else lot["raw_code"]
    return {**lot, "date_code": bool(week), "maker_lot": maker_lot.replace(week, "", 1), "raw_code": code}


def reckoned() -> dict[str, Any]:
    """Return what the pages work out of the stored rows, but for chances and money (see ``figures``)."""
    now = today.gather_today()
    advised = reorder_list.reorder_list()
    return {
        "to order": [
            (advice.part.number, advice.position, advice.level, advice.order and advice.order.quantity)
            for advice in advised
        ],
        "reasons": [
            [re.sub(r"[\d.]+ %", "%", why) for why in advice.why] for advice in advised
        ],  # risks: see ``figures``
        "today": {
            name: len(getattr(now, name))
            for name in (
                "out",
                "overdue",
                "waiting",
                "due",
                "on_hold",
                "dated",
                "doubted",
                "late",
                "to_order",
                "checks",
            )
        },
        "standings": {spare.piece.name: spare.standing.word for spare in _spares()},
        "on the shelf": [(holding.bin.name, holding.lot.code, holding.quantity) for holding in bins.holdings()],
    }


def figures() -> dict[str, float]:
    """Return the chances and the money by name; what they lean on ages by the hour, so they agree nearly."""
    chances = {f"{spare.piece.name} is good": spare.standing.p_good for spare in _spares()}
    for advice in reorder_list.reorder_list():
        chances |= {f"{advice.part.number} runs dry": advice.risk, f"{advice.part.number} yearly": advice.yearly_use}
    for job in jobs.jobs(status="open", limit=50).items:
        if jobs.suspects(job.id):
            chances |= {
                f"{job.number}: {suspect.name}": suspect.p_bad for suspect in diagnose.diagnose_job(job.id).suspects
            }
    chances |= {f"{part.part.number} worth": part.value_minor for part in spare_value.spare_values().parts}
    return chances


def _spares() -> list[Any]:
    return pieces.pieces(spare=True, gone=None, limit=100).items
