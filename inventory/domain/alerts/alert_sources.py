"""What is worth an alert: each thing that needs doing today, under a key that is always written alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from inventory.domain.alerts.alert_records import ALERT_KINDS
from inventory.domain.alerts.today import JobWithHeldLot, LotToDecide, Today
from inventory.domain.buying.order_records import ReorderAdvice
from inventory.domain.common.quantity_text import quantity_text


@dataclass(frozen=True)
class AlertCandidate:
    """Something that needs doing. ``what``, ``what_id``: the thing whose page to open."""

    kind: str
    of: str
    title: str
    detail: str
    what: str
    what_id: int
    urgent: bool = False

    @property
    def key(self) -> str:
        """Return the key under which it is remembered."""
        return f"{self.kind}:{self.of}"


def alert_candidates(today: Today) -> list[AlertCandidate]:
    """Return an alert for everything that needs doing, by kind."""
    made = [one for source in _SOURCES for one in source(today)]
    return sorted(made, key=lambda one: list(ALERT_KINDS).index(one.kind))


def _overdue_loan_alerts(today: Today) -> Iterator[AlertCandidate]:
    for one in today.overdue:
        place = f" in place of {one.suspect}" if one.suspect else ""
        yield AlertCandidate(
            "overdue",
            str(one.id),
            f"{one.shown_as}, {one.part_name}, should be back from job {one.job_number}",
            f"Out since {_format_day(one.taken)}{place}, taken by {one.taken_by or 'somebody'}; "
            f"due {_format_day(one.due)}.",
            "piece",
            one.piece_id,
            True,
        )


def _job_alerts(today: Today) -> Iterator[AlertCandidate]:
    for job in today.due:
        late = f"Promised for {_format_day(job.promised)}{f' to {job.customer}' if job.customer else ''}."
        yield AlertCandidate(
            "promised", str(job.id), f"Job {job.number} is promised: {job.title}", late, "job", job.id, True
        )
    for one in today.waiting:
        if one.ready:
            told = f"It waited for {one.job.waiting_for or 'parts'}; all it wants is on the shelf."
            title = f"Job {one.job.number} can go on: {one.job.title}"
            yield AlertCandidate("ready", str(one.job.id), title, told, "job", one.job.id)


def _held_job_alerts(today: Today) -> Iterator[AlertCandidate]:
    for job in today.held_in_jobs:
        yield AlertCandidate(
            "held",
            f"{job.lot.id}:{job.job.id}",
            f"Job {job.job.number} has something of a lot on hold",
            f"{quantity_text(job.quantity, job.part)} of {job.part.name}, "
            f"lot {job.lot.code}{_hold_reason_text(job)}.",
            "lot",
            job.lot.id,
            True,
        )


def _order_alerts(today: Today) -> Iterator[AlertCandidate]:
    for advice in today.to_order:
        yield AlertCandidate(
            "reorder", str(advice.part.id), _reorder_title(advice), " ".join(advice.why[2:4]), "part", advice.part.id,
            advice.short_for_jobs > 0,
        )  # fmt: skip
    for one in today.late:
        days = f"{one.days_late} day{'' if one.days_late == 1 else 's'}"
        parts = ", ".join(line.part.name for line in one.lines if line.outstanding)
        yield AlertCandidate(
            "late", str(one.id), f"Order {one.number} from {one.supplier} is late",
            f"Expected {_format_day(one.expected)}, {days} late; still to come: {parts}.", "order", one.id,
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
            "check", str(check.id), f"{check.part.name}, lot {check.lot.code}, is to be tested",
            f"{check.asks} {check.progress} tested.{held}", "incoming check", check.id,
        )  # fmt: skip


def _lot_alerts(today: Today) -> Iterator[AlertCandidate]:
    for one in today.on_hold:
        told = f"{quantity_text(one.left, one.part)} left{_hold_reason_text(one)}: release it, return it or scrap it."
        yield AlertCandidate(
            "hold", str(one.lot.id), f"Lot {one.lot.code} of {one.part.name} is on hold", told, "lot", one.lot.id
        )
    for one in today.dated:
        kind, word = ("past", "is past its date") if one.past else ("soon", "is soon past its date")
        told = f"{quantity_text(one.left, one.part)} left, good until {_format_day(one.lot.until)}."
        yield AlertCandidate(
            kind, str(one.lot.id), f"{one.part.name}, lot {one.lot.code}, {word}", told, "lot", one.lot.id
        )


def _spare_alerts(today: Today) -> Iterator[AlertCandidate]:
    for one in today.doubted:
        word = one.standing.word
        yield AlertCandidate(
            "spare", f"{one.piece.id}:{word}", f"{one.piece.shown_as}, {one.part.name}, is {word}", one.standing.why,
            "piece", one.piece.id,
        )  # fmt: skip


def _backup_alerts(today: Today) -> Iterator[AlertCandidate]:
    if today.backup is not None:
        yield AlertCandidate("backup", "daily", "The daily backup is not made", today.backup.told, "backup", 1)


_SOURCES = (
    _overdue_loan_alerts,
    _job_alerts,
    _held_job_alerts,
    _order_alerts,
    _check_alerts,
    _lot_alerts,
    _spare_alerts,
    _backup_alerts,
)


def _hold_reason_text(one: LotToDecide | JobWithHeldLot) -> str:
    return f" ({one.hold.reason})" if one.hold else ""


def _format_day(day: date | datetime | None) -> str:
    return "no day" if day is None else f"{day.day} {day:%b %Y}"
