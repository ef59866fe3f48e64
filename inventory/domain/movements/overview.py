"""Looking at one thing: everything a person wants to see of a bin, part, lot or job, gathered in one go."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.catalogue import bins, history, lot_costs, lots, parts
from inventory.domain.catalogue.picking import sources
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.records import (
    BinRecord,
    Holding,
    HoldRecord,
    JobRecord,
    LessonRecord,
    LotRecord,
    MovementRecord,
    NeedRecord,
    PartRecord,
    PieceRecord,
    Stock,
    SubstituteRecord,
    SuspectRecord,
    UnitModelRecord,
    read,
)
from inventory.domain.jobs import jobs
from inventory.store import job_use
from inventory.store.tables import Supplier

RECENT = 12


@dataclass(frozen=True)
class PartInBin:
    """One part of what is in a bin: how many, and which lot comes next."""

    part: PartRecord
    quantity: int  # loose and not on hold
    on_hold: int
    holdings: tuple[Holding, ...]
    pieces: tuple[PieceRecord, ...]
    next_lot: LotRecord | None
    next_past_date: bool
    lessons: tuple[LessonRecord, ...]

    @property
    def only_pieces(self) -> bool:
        """Tell whether all there is of it has labels of its own, so that nothing is taken by number."""
        return self.part.kept == "individually" or bool(self.pieces and not self.holdings)


@dataclass(frozen=True)
class BinLook:
    """A bin as the person in front of it wants to see it."""

    bin: BinRecord
    contents: tuple[PartInBin, ...]
    recent: tuple[MovementRecord, ...]
    recent_jobs: tuple[JobRecord, ...]


@dataclass(frozen=True)
class PartLook:
    """A part with its stock, places, lots, what it fits and what may stand in for it."""

    part: PartRecord
    stock: Stock
    holdings: tuple[Holding, ...]
    pieces: tuple[PieceRecord, ...]
    bins: tuple[BinRecord, ...]
    fits: tuple[UnitModelRecord, ...]
    substitutes: tuple[SubstituteRecord, ...]
    lessons: tuple[LessonRecord, ...]
    recent: tuple[MovementRecord, ...]


@dataclass(frozen=True)
class LotUse:
    """How many of a lot a job has."""

    job: JobRecord
    quantity: int


@dataclass(frozen=True)
class LotLook:
    """A lot: where it came from, what is left and where, and which jobs got pieces of it."""

    lot: LotRecord
    part: PartRecord
    supplier: str
    left: int
    holdings: tuple[Holding, ...]
    pieces: tuple[PieceRecord, ...]
    jobs: tuple[LotUse, ...]
    holds: tuple[HoldRecord, ...]
    recent: tuple[MovementRecord, ...]


@dataclass(frozen=True)
class JobUse:
    """What a job took of a lot and did not put back. ``cost_minor`` is what it bears of the lot's cost, if known."""

    part: PartRecord
    lot: LotRecord
    quantity: int
    cost_minor: int | None


@dataclass(frozen=True)
class JobLook:
    """A job with what it used, needs and suspects."""

    job: JobRecord
    used: tuple[JobUse, ...]
    pieces: tuple[PieceRecord, ...]
    needs: tuple[NeedRecord, ...]
    suspects: tuple[SuspectRecord, ...]
    lessons: tuple[LessonRecord, ...]
    recent: tuple[MovementRecord, ...]
    piece_costs: tuple[int | None, ...]  # of ``pieces``, minor units

    @property
    def cost_minor(self) -> int:
        """What the parts used cost, as far as it is known, in minor units."""
        return sum(cost or 0 for cost in (*(one.cost_minor for one in self.used), *self.piece_costs))


def look_at_bin(bin_id: int) -> BinLook:
    """Gather what is in a bin, what comes next, what to mind, and which jobs were here lately."""
    found = bins.bin_(bin_id)
    inside = bins.parts_in(bin_id) | ({found.part_id} if found.part_id else set())
    recent = history.movements(bin_id=bin_id, limit=RECENT).items
    job_ids = list(dict.fromkeys(one.job_id for one in recent if one.job_id))
    return BinLook(
        found, tuple(_part_in_bin(part, bin_id) for part in sorted(inside)), tuple(recent),
        tuple(jobs.job(one) for one in job_ids[:5]),
    )  # fmt: skip


def _part_in_bin(part_id: int, bin_id: int) -> PartInBin:
    held = bins.holdings(bin_id=bin_id, part_id=part_id)
    takeable = sources(part_id, bin_id)
    return PartInBin(
        part=parts.part(part_id),
        quantity=sum(one.quantity for one in takeable),
        on_hold=sum(one.quantity for one in held if one.lot.on_hold),
        holdings=tuple(held),
        pieces=tuple(bins.pieces_in(bin_id=bin_id, part_id=part_id)),
        next_lot=read(LotRecord, takeable[0].lot) if takeable else None,
        next_past_date=bool(takeable and takeable[0].past_date),
        lessons=tuple(parts.lessons(part_id=part_id)[:3]),
    )


def look_at_part(part_id: int) -> PartLook:
    """Gather everything about a part."""
    found = parts.part(part_id)
    return PartLook(
        found, stock_of(part_id), tuple(bins.holdings(part_id=part_id)), tuple(bins.pieces_in(part_id=part_id)),
        tuple(bins.bins(part_id=part_id).items), tuple(parts.fits_of(part_id)), tuple(parts.substitutes_of(part_id)),
        tuple(parts.lessons(part_id=part_id)), tuple(history.movements(part_id=part_id, limit=RECENT).items),
    )  # fmt: skip


def look_at_lot(lot_id: int) -> LotLook:
    """Gather where a lot came from and where it went."""
    found = lots.lot(lot_id)
    held, single = bins.holdings(lot_id=lot_id), bins.pieces_in(lot_id=lot_id)
    supplier = Supplier.get_or_none(Supplier.id == found.supplier_id)
    return LotLook(
        found, parts.part(found.part_id), supplier.name if supplier else "",
        sum(one.quantity for one in held) + len(single), tuple(held), tuple(single), tuple(jobs_of_lot(lot_id)),
        tuple(lots.holds(lot_id)), tuple(history.movements(lot_id=lot_id, limit=RECENT).items),
    )  # fmt: skip


def jobs_of_lot(lot_id: int) -> list[LotUse]:
    """Return every job that has something of a lot, with how many, newest job first."""
    return [LotUse(jobs.job(job), number) for job, number in sorted(job_use.of_lot(lot_id).items(), reverse=True)]


def look_at_job(job_id: int) -> JobLook:
    """Gather what a job used, needs and suspects, and the lessons about its model."""
    found = jobs.job(job_id)
    lessons = parts.lessons(unit_model_id=found.unit_model_id) if found.unit_model_id else []
    used, fitted = _used_and_fitted(job_id)
    return JobLook(
        found, tuple(used), tuple(piece for piece, _ in fitted), tuple(jobs.needs(job_id)),
        tuple(jobs.suspects(job_id)), tuple(lessons), tuple(history.movements(job_id=job_id, limit=50).items),
        tuple(cost for _, cost in fitted),
    )  # fmt: skip


def used_by_job(job_id: int) -> list[JobUse]:
    """Return the loose stock that a job took and did not put back, with its cost by lot."""
    return _used_and_fitted(job_id)[0]


def _used_and_fitted(job_id: int) -> tuple[list[JobUse], list[tuple[PieceRecord, int | None]]]:
    """Return the loose stock and the pieces that a job has; what it bears of a lot is split over both."""
    loose, fitted = job_use.loose_of_job(job_id), pieces_of_job(job_id)
    borne = lot_costs.costs_in_job(job_id, {m.lot_id for m, _ in loose} | {one.lot_id for one in fitted})
    used: list[JobUse] = []
    costs: dict[int, int | None] = {}
    for movement, number in loose:
        pieces = [one for one in fitted if one.lot_id == movement.lot_id]
        cost, *rest = lot_costs.split(borne.get(movement.lot_id), [number, *(1 for _ in pieces)])
        used.append(JobUse(read(PartRecord, movement.part), read(LotRecord, movement.lot), number, cost))
        costs.update(zip((one.id for one in pieces), rest, strict=True))
    for lot_id in {one.lot_id for one in fitted if one.id not in costs}:
        pieces = [one for one in fitted if one.lot_id == lot_id]
        rest = lot_costs.split(borne.get(lot_id), [1 for _ in pieces])
        costs.update(zip((one.id for one in pieces), rest, strict=True))
    return used, [(one, costs[one.id]) for one in fitted]


def pieces_of_job(job_id: int) -> list[PieceRecord]:
    """Return the pieces that are fitted in a job's unit."""
    return [read(PieceRecord, piece) for piece, _ in job_use.pieces_of_job(job_id)]
