"""What is worth an alert: each thing that needs doing today, under a key that is always written alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from inventory.domain.alerts.alert_records import ALERT_KINDS
from inventory.domain.alerts.today import JobWithHeldLot, LotToDecide, Today
from inventory.domain.buying.order_records import ReorderAdvice
from inventory.domain.common.quantity_text import quantity_text


def alert_key(kind: str, *of: object) -> str:
    """Return the key under which an alert is remembered: its kind, and what tells its thing from others."""
    return ":".join(map(str, (kind, *of)))


@dataclass(frozen=True)
class AlertCandidate:
    """Something that needs doing. ``item`` of Today; ``what``, ``what_id``: the thing whose page to open."""

    item: Any
    kind: str
    of: tuple[object, ...]
    title: str
    detail: str
    what: str
    what_id: int
    urgent: bool = False

    @property
    def key(self) -> str:
        """Return the key under which it is remembered."""
        return alert_key(self.kind, *self.of)


def alert_candidates(today: Today) -> list[AlertCandidate]:
    """Return an alert for everything that needs doing, by kind."""
    candidates = [candidate for source in _SOURCES for candidate in source(today)]
    return sorted(candidates, key=lambda candidate: list(ALERT_KINDS).index(candidate.kind))


def _overdue_loan_alerts(today: Today) -> Iterator[AlertCandidate]:
    for loan in today.overdue:
        place = f" in place of {loan.suspect}" if loan.suspect else ""
        yield AlertCandidate(
            loan, "overdue", (loan.id,),
            f"{loan.shown_as}, {loan.part_name}, should be back from job {loan.job_number}",
            f"Out since {_format_day(loan.taken)}{place}, taken by {loan.taken_by or 'somebody'}; "
            f"due {_format_day(loan.due)}.", "piece", loan.piece_id, urgent=True,
        )  # fmt: skip


def _job_alerts(today: Today) -> Iterator[AlertCandidate]:
    for job in today.due:
        detail = f"Promised for {_format_day(job.promised)}{f' to {job.customer}' if job.customer else ''}."
        title = f"Job {job.number} is promised: {job.title}"
        yield AlertCandidate(job, "promised", (job.id,), title, detail, "job", job.id, urgent=True)
    for waiting in today.waiting:
        if waiting.ready:
            job = waiting.job
            detail = f"It waited for {job.waiting_for or 'parts'}; all it wants is on the shelf."
            title = f"Job {job.number} can go on: {job.title}"
            yield AlertCandidate(waiting, "ready", (job.id,), title, detail, "job", job.id)


def _held_job_alerts(today: Today) -> Iterator[AlertCandidate]:
    for held in today.held_in_jobs:
        yield AlertCandidate(
            held, "held", (held.lot.id, held.job.id), f"Job {held.job.number} has something of a lot on hold",
            f"{quantity_text(held.quantity, held.part)} of {held.part.name}, lot {held.lot.code}"
            f"{_hold_reason_text(held)}.", "lot", held.lot.id, urgent=True,
        )  # fmt: skip


def _order_alerts(today: Today) -> Iterator[AlertCandidate]:
    for advice in today.to_order:
        yield AlertCandidate(
            advice, "reorder", (advice.part.id,), _reorder_title(advice), " ".join(advice.why[2:4]), "part",
            advice.part.id, urgent=advice.short_for_jobs > 0,
        )  # fmt: skip
    for order in today.late:
        days = f"{order.days_late} day{'' if order.days_late == 1 else 's'}"
        parts = ", ".join(line.part.name for line in order.lines if line.outstanding)
        yield AlertCandidate(
            order, "late", (order.id,), f"Order {order.number} from {order.supplier} is late",
            f"Expected {_format_day(order.expected)}, {days} late; still to come: {parts}.", "order", order.id,
        )  # fmt: skip


def _reorder_title(advice: ReorderAdvice) -> str:
    if advice.order is None:
        return f"{advice.part.name} is short"
    whom = f" from {advice.order.supplier}" if advice.order.supplier else ""
    return f"Order {quantity_text(advice.order.quantity, advice.part)} of {advice.part.name}{whom}"


def _check_alerts(today: Today) -> Iterator[AlertCandidate]:
    for check in today.checks:
        held = " Nobody can take from it until then." if check.holds else ""
        yield AlertCandidate(
            check, "check", (check.id,), f"{check.part.name}, lot {check.lot.code}, is to be tested",
            f"{check.asks} {check.progress} tested.{held}", "incoming check", check.id,
        )  # fmt: skip


def _lot_alerts(today: Today) -> Iterator[AlertCandidate]:
    for item in today.on_hold:
        lot, left = item.lot, quantity_text(item.left, item.part)
        detail = f"{left} left{_hold_reason_text(item)}: release it, return it or scrap it."
        title = f"Lot {lot.code} of {item.part.name} is on hold"
        yield AlertCandidate(item, "hold", (lot.id,), title, detail, "lot", lot.id)
    for item in today.dated:
        lot, left = item.lot, quantity_text(item.left, item.part)
        kind, word = ("past", "is past its date") if item.past else ("soon", "is soon past its date")
        title = f"{item.part.name}, lot {lot.code}, {word}"
        detail = f"{left} left, good until {_format_day(lot.until)}."
        yield AlertCandidate(item, kind, (lot.id,), title, detail, "lot", lot.id)


def _spare_alerts(today: Today) -> Iterator[AlertCandidate]:
    for spare in today.doubted:
        word = spare.standing.word
        title = f"{spare.piece.shown_as}, {spare.part.name}, is {word}"
        yield AlertCandidate(
            spare, "spare", (spare.piece.id, word), title, spare.standing.why, "piece", spare.piece.id
        )


def _backup_alerts(today: Today) -> Iterator[AlertCandidate]:
    status = today.backup
    if status is not None:
        yield AlertCandidate(status, "backup", ("daily",), "The daily backup is not made", status.told, "backup", 1)


_SOURCES = (
    _overdue_loan_alerts, _job_alerts, _held_job_alerts, _order_alerts, _check_alerts, _lot_alerts, _spare_alerts,
    _backup_alerts,
)  # fmt: skip


def _hold_reason_text(item: LotToDecide | JobWithHeldLot) -> str:
    return f" ({item.hold.reason})" if item.hold else ""


def _format_day(day: date | datetime | None) -> str:
    return "no day" if day is None else f"{day.day} {day:%b %Y}"
