"""What is worth an alert: each thing that needs doing today, under a key that is always written alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from inventory.domain.alerts.today import JobWithBadLot, LotToMind, Today
from inventory.domain.buying.order_records import Advice
from inventory.domain.common.quantity_text import amount

KINDS = {
    "overdue": "Swap tests overdue",
    "promised": "Jobs promised by today",
    "ready": "Jobs that can go on",
    "held": "Jobs with something of a lot on hold",
    "reorder": "To order",
    "late": "Orders late",
    "check": "Deliveries to be tested",
    "hold": "Lots on hold",
    "past": "Past their date",
    "soon": "Soon past their date",
    "spare": "Spares to prove again",
    "backup": "No backup of late",
}
"""Every kind of alert in the order of a digest, with its heading."""


@dataclass(frozen=True)
class Found:
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


def found_today(today: Today) -> list[Found]:
    """Return an alert for everything that needs doing, by kind."""
    made = [one for source in _SOURCES for one in source(today)]
    return sorted(made, key=lambda one: list(KINDS).index(one.kind))


def _swap_tests(today: Today) -> Iterator[Found]:
    for one in today.overdue:
        place = f" in place of {one.suspect}" if one.suspect else ""
        yield Found(
            "overdue", str(one.id), f"{one.shown_as}, {one.part_name}, should be back from job {one.job_number}",
            f"Out since {_day(one.taken)}{place}, taken by {one.taken_by or 'somebody'}; due {_day(one.due)}.",
            "piece", one.piece_id, True,
        )  # fmt: skip


def _jobs(today: Today) -> Iterator[Found]:
    for job in today.due:
        late = f"Promised for {_day(job.promised)}{f' to {job.customer}' if job.customer else ''}."
        yield Found("promised", str(job.id), f"Job {job.number} is promised: {job.title}", late, "job", job.id, True)
    for one in today.waiting:
        if one.ready:
            told = f"It waited for {one.job.waiting_for or 'parts'}; all it wants is on the shelf."
            title = f"Job {one.job.number} can go on: {one.job.title}"
            yield Found("ready", str(one.job.id), title, told, "job", one.job.id)


def _held_jobs(today: Today) -> Iterator[Found]:
    for one in today.held_in_jobs:
        yield Found(
            "held", f"{one.lot.id}:{one.job.id}", f"Job {one.job.number} has something of a lot on hold",
            f"{amount(one.quantity, one.part)} of {one.part.name}, lot {one.lot.code}{_why(one)}.",
            "lot", one.lot.id, True,
        )  # fmt: skip


def _orders(today: Today) -> Iterator[Found]:
    for advice in today.to_order:
        yield Found(
            "reorder", str(advice.part.id), _to_order(advice), " ".join(advice.why[2:4]), "part", advice.part.id,
            advice.short_for_jobs > 0,
        )  # fmt: skip
    for one in today.late:
        days = f"{one.days_late} day{'' if one.days_late == 1 else 's'}"
        parts = ", ".join(line.part.name for line in one.lines if line.outstanding)
        yield Found(
            "late", str(one.id), f"Order {one.number} from {one.supplier} is late",
            f"Expected {_day(one.expected)}, {days} late; still to come: {parts}.", "order", one.id,
        )  # fmt: skip


def _to_order(advice: Advice) -> str:
    if advice.order is None:
        return f"{advice.part.name} is short"
    whom = f" from {advice.order.supplier}" if advice.order.supplier else ""
    return f"Order {amount(advice.order.quantity, advice.part)} of {advice.part.name}{whom}"


def _checks(today: Today) -> Iterator[Found]:
    for one in today.checks:
        held = " Nobody can take from it until then." if one.holds else ""
        yield Found(
            "check", str(one.id), f"{one.part.name}, lot {one.lot.code}, is to be tested",
            f"{one.asks} {one.progress} tested.{held}", "incoming check", one.id,
        )  # fmt: skip


def _lots(today: Today) -> Iterator[Found]:
    for one in today.on_hold:
        told = f"{amount(one.left, one.part)} left{_why(one)}: release it, return it or scrap it."
        yield Found(
            "hold", str(one.lot.id), f"Lot {one.lot.code} of {one.part.name} is on hold", told, "lot", one.lot.id
        )
    for one in today.dated:
        kind, word = ("past", "is past its date") if one.past else ("soon", "is soon past its date")
        told = f"{amount(one.left, one.part)} left, good until {_day(one.lot.until)}."
        yield Found(kind, str(one.lot.id), f"{one.part.name}, lot {one.lot.code}, {word}", told, "lot", one.lot.id)


def _spares(today: Today) -> Iterator[Found]:
    for one in today.doubted:
        word = one.standing.word
        yield Found(
            "spare", f"{one.piece.id}:{word}", f"{one.piece.shown_as}, {one.part.name}, is {word}", one.standing.why,
            "piece", one.piece.id,
        )  # fmt: skip


def _backups(today: Today) -> Iterator[Found]:
    if today.backup is not None:
        yield Found("backup", "daily", "The daily backup is not made", today.backup.told, "backup", 1)


_SOURCES = (_swap_tests, _jobs, _held_jobs, _orders, _checks, _lots, _spares, _backups)


def _why(one: LotToMind | JobWithBadLot) -> str:
    return f" ({one.hold.reason})" if one.hold else ""


def _day(day: date | datetime | None) -> str:
    return "no day" if day is None else f"{day.day} {day:%b %Y}"
