"""Today: what needs doing at the bench, gathered from everywhere, the most pressing of each kind first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from inventory.domain.backup.scheduled_backups import BackupStatus, last_backup_status
from inventory.domain.buying.incoming_records import IncomingCheckRecord
from inventory.domain.buying.order_records import OrderRecord, ReorderAdvice
from inventory.domain.buying.orders import late_orders
from inventory.domain.catalogue.lots import holds, remaining_by_lot
from inventory.domain.common import clock
from inventory.domain.common.records import HoldRecord, JobRecord, LotRecord, NeedRecord, PartRecord, from_row
from inventory.domain.jobs.jobs import jobs, needs
from inventory.domain.proof.loans import open_loans
from inventory.domain.proof.proof_records import LoanRecord, PieceStatus
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.quality.incoming_testing import lots_held_by_checks, waiting_checks
from inventory.domain.quality.recall import recall
from inventory.domain.reorder.reorder_list import reorder_list
from inventory.store.tables import Job, Lot, Need, Part, Piece

EXPIRY_NOTICE = timedelta(days=30)  # a best-before date within this is worth a look
MAX_ITEMS = 50
MAX_AT_RISK, MAX_TO_ORDER = 5, 200


@dataclass(frozen=True)
class WaitingJob:
    """A job that waits, with what it still wants; ``ready`` when all of that is on the shelf now."""

    job: JobRecord
    missing: tuple[NeedRecord, ...]

    @property
    def ready(self) -> bool:
        """Tell whether the job can go on: it wanted something, and everything is here."""
        return bool(self.missing) and all(need.on_shelf >= need.missing for need in self.missing)


@dataclass(frozen=True)
class LotToDecide:
    """A lot that needs a decision, with how much of it is left."""

    lot: LotRecord
    part: PartRecord
    left: int
    past: bool = False
    hold: HoldRecord | None = None


@dataclass(frozen=True)
class JobWithHeldLot:
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
    on_hold: tuple[LotToDecide, ...]
    dated: tuple[LotToDecide, ...]  # past their date, or soon
    doubted: tuple[PieceStatus, ...]  # spares that cannot be trusted as they are
    late: tuple[OrderRecord, ...]
    to_order: tuple[ReorderAdvice, ...]  # the most urgent first
    held_in_jobs: tuple[JobWithHeldLot, ...]
    checks: tuple[IncomingCheckRecord, ...]  # of lots that came in and wait to be tested
    backup: BackupStatus | None = None  # how the service's own backups went, when somebody should see to it

    @property
    def overdue(self) -> tuple[LoanRecord, ...]:
        """The swap tests that should have ended."""
        return tuple(loan for loan in self.out if loan.overdue)

    @property
    def in_time(self) -> tuple[LoanRecord, ...]:
        """The swap tests that may go on."""
        return tuple(loan for loan in self.out if not loan.overdue)

    @property
    def waited_for(self) -> tuple[ReorderAdvice, ...]:
        """What is to be ordered because jobs want more of it than there is and is on order."""
        return tuple(advice for advice in self.to_order if advice.short_for_jobs)

    @property
    def pressing(self) -> int:
        """How many things do not wait until tomorrow; all that jobs wait for is one of them: an order to be sent.

        These are the things whose alerts are urgent.
        """
        count = len(self.overdue) + len(self.due) + len(self.held_in_jobs)
        return count + (1 if self.waited_for else 0)

    @property
    def at_risk(self) -> tuple[ReorderAdvice, ...]:
        """The most urgent few of what is to be ordered."""
        return self.to_order[:MAX_AT_RISK]

    @property
    def quiet(self) -> bool:
        """Tell whether nothing needs doing."""
        kinds = (self.waiting, self.late, self.at_risk, self.checks, self.on_hold, self.dated, self.doubted)
        return not (self.pressing or any(kinds) or self.backup)


def gather_today() -> Today:
    """Gather what needs doing."""
    return Today(
        tuple(open_loans()),
        tuple(_waiting_jobs()),
        tuple(_jobs_due()),
        tuple(_lots_on_hold()),
        tuple(_lots_near_date()),
        tuple(_doubtful_spares()),
        tuple(late_orders()),
        tuple(reorder_list(limit=MAX_TO_ORDER)),
        tuple(_jobs_with_held_lots()),
        tuple(waiting_checks()),
        _overdue_backup(),
    )


def _overdue_backup() -> BackupStatus | None:
    status = last_backup_status()
    return status if status is not None and status.overdue else None


def _waiting_jobs() -> list[WaitingJob]:
    rows = list(jobs(status="waiting", limit=MAX_ITEMS).items)
    wanting = {
        need.job_id
        for need in Need.select(Need.job).where(
            Need.job << [job.id for job in rows], ~Need.dropped, Need.quantity > Need.taken
        )
    }
    waiting = [
        WaitingJob(job, tuple(need for need in needs(job.id) if need.missing) if job.id in wanting else ())
        for job in rows
    ]
    return sorted(waiting, key=lambda item: (not item.ready, item.job.opened))


def _jobs_due() -> list[JobRecord]:
    rows: Any = (
        Job.select()
        .where(Job.status != "closed", Job.promised.is_null(False), Job.promised <= clock.today())
        .order_by(Job.promised)
        .limit(MAX_ITEMS)
    )
    return [from_row(JobRecord, row, unit_model=row.unit_model.name if row.unit_model_id else "") for row in rows]


def _lots_on_hold() -> Iterable[LotToDecide]:
    """Yield the lots on hold, but for those that only wait for their check."""
    for lot, part, left in _lots_with_stock(Lot.on_hold & Lot.id.not_in(lots_held_by_checks())):
        yield LotToDecide(lot, part, left, hold=next((hold for hold in holds(lot.id) if hold.ended is None), None))


def _jobs_with_held_lots() -> Iterable[JobWithHeldLot]:
    for lot in Lot.select(Lot.id).where(Lot.on_hold).order_by(Lot.id.desc()).limit(MAX_ITEMS):
        held = recall(lot.id)
        for line in held.lines:
            if line.job.status != "closed" and line.seen_to is None:
                yield JobWithHeldLot(held.lot, held.part, held.hold, line.job, line.quantity)


def _lots_near_date() -> list[LotToDecide]:
    last = clock.today() + EXPIRY_NOTICE
    lots = _lots_with_stock(((Lot.best_before <= last) | (Lot.open_until <= last)) & ~Lot.on_hold)
    items = [LotToDecide(lot, part, left, past=_is_past_date(lot)) for lot, part, left in lots]
    return sorted(items, key=lambda item: (item.lot.until, item.lot.id))


def _is_past_date(lot: LotRecord) -> bool:
    return lot.until is not None and lot.until < clock.today()


def _lots_with_stock(condition: Any) -> list[tuple[LotRecord, PartRecord, int]]:
    """Return the lots of which something is left, loose or as pieces, that meet *condition*."""
    rows = list(Lot.select(Lot, Part).join(Part).where(condition).order_by(Lot.id.desc()).limit(500))
    left = remaining_by_lot([row.id for row in rows])
    return [
        (from_row(LotRecord, row), from_row(PartRecord, row.part), left[row.id]) for row in rows if left.get(row.id)
    ]


def _doubtful_spares() -> list[PieceStatus]:
    """Return the spares whose standing is lapsed, doubtful or failed, those that fail worst first."""
    rows = Piece.select(Piece.id).where(Piece.bin.is_null(False), Piece.spare)
    order = ("failed", "doubtful", "lapsed")
    spares = [status for status in piece_statuses([row.id for row in rows]) if status.standing.word in order]
    return sorted(spares, key=lambda spare: (order.index(spare.standing.word), spare.piece.id))
