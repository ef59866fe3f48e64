"""Today: what needs doing at the bench, gathered from everywhere, the most pressing of each kind first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from inventory.domain.backup.scheduled_backups import BackupTry, last_try
from inventory.domain.buying.incoming_records import IncomingRecord
from inventory.domain.buying.order_records import Advice, OrderRecord
from inventory.domain.buying.orders import late_orders
from inventory.domain.catalogue.lots import holds, left_of
from inventory.domain.common import clock
from inventory.domain.common.records import HoldRecord, JobRecord, LotRecord, NeedRecord, PartRecord, read
from inventory.domain.jobs.jobs import jobs, needs
from inventory.domain.proof.loans import open_loans
from inventory.domain.proof.proof_records import LoanRecord, PieceSeen
from inventory.domain.proof.standings import see
from inventory.domain.quality.incoming_testing import waiting, waiting_lots
from inventory.domain.quality.recall import recall
from inventory.domain.reorder.reorder_list import reorder_list
from inventory.store.tables import Job, Lot, Need, Part, Piece

SOON = timedelta(days=30)  # a best-before date within this is worth a look
MOST = 50
MOST_AT_RISK, MOST_TO_ORDER = 5, 200


@dataclass(frozen=True)
class WaitingJob:
    """A job that waits, with what it still wants; ``ready`` when all of that is on the shelf now."""

    job: JobRecord
    missing: tuple[NeedRecord, ...]

    @property
    def ready(self) -> bool:
        """Tell whether the job can go on: it wanted something, and everything is here."""
        return bool(self.missing) and all(one.on_shelf >= one.missing for one in self.missing)


@dataclass(frozen=True)
class LotToMind:
    """A lot that needs a decision, with how much of it is left."""

    lot: LotRecord
    part: PartRecord
    left: int
    past: bool = False
    hold: HoldRecord | None = None


@dataclass(frozen=True)
class JobWithBadLot:
    """An open job that has something of a lot on hold, which nobody has seen to yet."""

    lot: LotRecord
    part: PartRecord
    hold: HoldRecord
    job: JobRecord
    quantity: int


@dataclass(frozen=True)
class Today:
    """What needs doing today."""

    out: tuple[LoanRecord, ...]  # the first due first
    waiting: tuple[WaitingJob, ...]  # those that can go on first
    due: tuple[JobRecord, ...]  # promised for today or before
    on_hold: tuple[LotToMind, ...]
    dated: tuple[LotToMind, ...]  # past their date, or soon
    doubted: tuple[PieceSeen, ...]  # spares that cannot be trusted as they are
    late: tuple[OrderRecord, ...]
    to_order: tuple[Advice, ...]  # the most urgent first
    held_in_jobs: tuple[JobWithBadLot, ...]
    checks: tuple[IncomingRecord, ...]  # of lots that came in and wait to be tested
    backup: BackupTry | None = None  # how the service's own backups went, when somebody should see to it

    @property
    def overdue(self) -> tuple[LoanRecord, ...]:
        """The swap tests that should have ended."""
        return tuple(one for one in self.out if one.overdue)

    @property
    def in_time(self) -> tuple[LoanRecord, ...]:
        """The swap tests that may go on."""
        return tuple(one for one in self.out if not one.overdue)

    @property
    def waited_for(self) -> tuple[Advice, ...]:
        """What is to be ordered because jobs want more of it than there is and is on order."""
        return tuple(one for one in self.to_order if one.short_for_jobs)

    @property
    def pressing(self) -> int:
        """How many things do not wait until tomorrow; all that jobs wait for is one of them: an order to be sent.

        These are the things whose alerts are urgent.
        """
        each = len(self.overdue) + len(self.due) + len(self.held_in_jobs)
        return each + (1 if self.waited_for else 0)

    @property
    def at_risk(self) -> tuple[Advice, ...]:
        """The most urgent few of what is to be ordered."""
        return self.to_order[:MOST_AT_RISK]

    @property
    def quiet(self) -> bool:
        """Tell whether nothing needs doing."""
        kinds = (self.waiting, self.late, self.at_risk, self.checks, self.on_hold, self.dated, self.doubted)
        return not (self.pressing or any(kinds) or self.backup)


def today() -> Today:
    """Gather what needs doing."""
    return Today(
        tuple(open_loans()), tuple(_waiting()), tuple(_due()), tuple(_on_hold()), tuple(_dated()),
        tuple(_doubted()), tuple(late_orders()), tuple(reorder_list(limit=MOST_TO_ORDER)), tuple(_held_in_jobs()),
        tuple(waiting()), _backup(),
    )  # fmt: skip


def _backup() -> BackupTry | None:
    found = last_try()
    return found if found is not None and found.overdue else None


def _waiting() -> list[WaitingJob]:
    rows = list(jobs(status="waiting", limit=MOST).items)
    wanting = {
        one.job_id
        for one in Need.select(Need.job).where(
            Need.job << [job.id for job in rows], ~Need.dropped, Need.quantity > Need.taken
        )
    }
    found = [
        WaitingJob(job, tuple(one for one in needs(job.id) if one.missing) if job.id in wanting else ())
        for job in rows
    ]
    return sorted(found, key=lambda one: (not one.ready, one.job.opened))


def _due() -> list[JobRecord]:
    rows: Any = (
        Job.select()
        .where(Job.status != "closed", Job.promised.is_null(False), Job.promised <= clock.today())
        .order_by(Job.promised)
        .limit(MOST)
    )
    return [read(JobRecord, one, unit_model=one.unit_model.name if one.unit_model_id else "") for one in rows]


def _on_hold() -> Iterable[LotToMind]:
    """Yield the lots on hold, but for those that only wait for their check."""
    for lot, part, left in _lots_left(Lot.on_hold & Lot.id.not_in(waiting_lots())):
        yield LotToMind(lot, part, left, hold=next((one for one in holds(lot.id) if one.ended is None), None))


def _held_in_jobs() -> Iterable[JobWithBadLot]:
    for lot in Lot.select(Lot.id).where(Lot.on_hold).order_by(Lot.id.desc()).limit(MOST):
        held = recall(lot.id)
        for line in held.lines:
            if line.job.status != "closed" and line.seen_to is None:
                yield JobWithBadLot(held.lot, held.part, held.hold, line.job, line.quantity)


def _dated() -> list[LotToMind]:
    last = clock.today() + SOON
    found = _lots_left(((Lot.best_before <= last) | (Lot.open_until <= last)) & ~Lot.on_hold)
    minded = [LotToMind(lot, part, left, past=_is_past(lot)) for lot, part, left in found]
    return sorted(minded, key=lambda one: (one.lot.until, one.lot.id))


def _is_past(lot: LotRecord) -> bool:
    return lot.until is not None and lot.until < clock.today()


def _lots_left(condition: Any) -> list[tuple[LotRecord, PartRecord, int]]:
    """Return the lots of which something is left, loose or as pieces, that meet *condition*."""
    rows = list(Lot.select(Lot, Part).join(Part).where(condition).order_by(Lot.id.desc()).limit(500))
    left = left_of([one.id for one in rows])
    return [(read(LotRecord, one), read(PartRecord, one.part), left[one.id]) for one in rows if left.get(one.id)]


def _doubted() -> list[PieceSeen]:
    """Return the spares whose standing is lapsed, doubtful or failed, those that fail worst first."""
    rows = Piece.select(Piece.id).where(Piece.bin.is_null(False), Piece.spare)
    order = ("failed", "doubtful", "lapsed")
    found = [one for one in see([row.id for row in rows]) if one.standing.word in order]
    return sorted(found, key=lambda one: (order.index(one.standing.word), one.piece.id))
