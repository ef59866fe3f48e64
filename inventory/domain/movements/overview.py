"""Overviews: a bin, part, lot or job with everything that its page shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from inventory.domain.catalogue import bins, history, lot_costs, lots, parts
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.described import About
from inventory.domain.common.records import (
    MAX_UNITS,
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
    StockTotals,
    SubstituteRecord,
    SuspectRecord,
    UnitModelRecord,
    from_row,
)
from inventory.domain.jobs import jobs
from inventory.store import job_use
from inventory.store.tables import Supplier

MAX_RECENT = 12


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
class BinOverview:
    """A bin with its contents and what was done there lately."""

    bin: BinRecord
    contents: tuple[PartInBin, ...]
    recent: tuple[MovementRecord, ...]
    recent_jobs: tuple[JobRecord, ...]


@dataclass(frozen=True)
class PartOverview:
    """A part with its stock, places, lots, what it fits and its substitutes."""

    part: PartRecord
    stock: StockTotals
    holdings: tuple[Holding, ...]
    pieces: tuple[PieceRecord, ...]
    bins: tuple[BinRecord, ...]
    fits: tuple[UnitModelRecord, ...]
    substitutes: tuple[SubstituteRecord, ...]
    lessons: tuple[LessonRecord, ...]
    recent: tuple[MovementRecord, ...]


@dataclass(frozen=True)
class JobQuantity:
    """How many of a lot a job has."""

    job: Annotated[JobRecord, "The job."]
    quantity: Annotated[int, About("How many, in base units.", maximum=MAX_UNITS)]


@dataclass(frozen=True)
class LotOverview:
    """A lot: where it came from, what is left and where, and which jobs got pieces of it."""

    lot: LotRecord
    part: PartRecord
    supplier: str
    left: int
    holdings: tuple[Holding, ...]
    pieces: tuple[PieceRecord, ...]
    jobs: tuple[JobQuantity, ...]
    holds: tuple[HoldRecord, ...]
    recent: tuple[MovementRecord, ...]


@dataclass(frozen=True)
class LotUsedByJob:
    """What a job took of a lot and did not put back. ``cost_minor`` is what it bears of the lot's cost, if known."""

    part: Annotated[PartRecord, "The part."]
    lot: Annotated[LotRecord, "The lot."]
    quantity: Annotated[int, About("How many, in base units.", maximum=MAX_UNITS)]
    cost_minor: Annotated[int | None, About("Its share of what the lot cost, in minor units.", maximum=None)]


@dataclass(frozen=True)
class JobOverview:
    """A job with what it used, needs and suspects."""

    job: JobRecord
    used: tuple[LotUsedByJob, ...]
    pieces: tuple[PieceRecord, ...]
    needs: tuple[NeedRecord, ...]
    suspects: tuple[SuspectRecord, ...]
    lessons: tuple[LessonRecord, ...]
    recent: tuple[MovementRecord, ...]
    piece_costs: tuple[int | None, ...]  # of ``pieces``, minor units

    @property
    def cost_minor(self) -> int:
        """What the parts used cost, as far as it is known, in minor units."""
        return sum(cost or 0 for cost in (*(used.cost_minor for used in self.used), *self.piece_costs))


def bin_overview(bin_id: int) -> BinOverview:
    """Gather what is in a bin, what comes next, what to mind, and which jobs were here lately."""
    record = bins.get_bin(bin_id)
    part_ids = bins.part_ids_in_bin(bin_id) | ({record.part_id} if record.part_id else set())
    recent = history.movements(bin_id=bin_id, limit=MAX_RECENT).items
    job_ids = list(dict.fromkeys(movement.job_id for movement in recent if movement.job_id))
    return BinOverview(
        record, tuple(_part_in_bin(part, bin_id) for part in sorted(part_ids)), tuple(recent),
        tuple(jobs.job(movement) for movement in job_ids[:5]),
    )  # fmt: skip


def _part_in_bin(part_id: int, bin_id: int) -> PartInBin:
    holdings = bins.holdings(bin_id=bin_id, part_id=part_id)
    sources = pick_sources(part_id, bin_id)
    return PartInBin(
        part=parts.part(part_id),
        quantity=sum(source.quantity for source in sources),
        on_hold=sum(source.quantity for source in holdings if source.lot.on_hold),
        holdings=tuple(holdings),
        pieces=tuple(bins.stocked_pieces(bin_id=bin_id, part_id=part_id)),
        next_lot=from_row(LotRecord, sources[0].lot) if sources else None,
        next_past_date=bool(sources and sources[0].past_date),
        lessons=tuple(parts.lessons(part_id=part_id)[:3]),
    )


def part_overview(part_id: int) -> PartOverview:
    """Gather everything about a part."""
    record = parts.part(part_id)
    return PartOverview(
        record,
        stock_of(part_id),
        tuple(bins.holdings(part_id=part_id)),
        tuple(bins.stocked_pieces(part_id=part_id)),
        tuple(bins.bins(part_id=part_id).items),
        tuple(parts.unit_models_of_part(part_id)),
        tuple(parts.substitutes_of(part_id)),
        tuple(parts.lessons(part_id=part_id)),
        tuple(history.movements(part_id=part_id, limit=MAX_RECENT).items),
    )


def lot_overview(lot_id: int) -> LotOverview:
    """Gather where a lot came from and where it went."""
    record = lots.lot(lot_id)
    holdings, pieces = bins.holdings(lot_id=lot_id), bins.stocked_pieces(lot_id=lot_id)
    supplier = Supplier.get_or_none(Supplier.id == record.supplier_id)
    return LotOverview(
        record, parts.part(record.part_id), supplier.name if supplier else "",
        sum(holding.quantity for holding in holdings) + len(pieces), tuple(holdings), tuple(pieces),
        tuple(jobs_of_lot(lot_id)), tuple(lots.holds(lot_id)),
        tuple(history.movements(lot_id=lot_id, limit=MAX_RECENT).items),
    )  # fmt: skip


def jobs_of_lot(lot_id: int) -> list[JobQuantity]:
    """Return every job that has something of a lot, with how many, newest job first."""
    return [
        JobQuantity(jobs.job(job), number) for job, number in sorted(job_use.of_lot(lot_id).items(), reverse=True)
    ]


def job_overview(job_id: int) -> JobOverview:
    """Gather what a job used, needs and suspects, and the lessons about its model."""
    record = jobs.job(job_id)
    lessons = parts.lessons(unit_model_id=record.unit_model_id) if record.unit_model_id else []
    used, fitted = _lots_and_pieces_of_job(job_id)
    return JobOverview(
        record, tuple(used), tuple(piece for piece, _ in fitted), tuple(jobs.needs(job_id)),
        tuple(jobs.suspects(job_id)), tuple(lessons), tuple(history.movements(job_id=job_id, limit=50).items),
        tuple(cost for _, cost in fitted),
    )  # fmt: skip


def lots_used_by_job(job_id: int) -> list[LotUsedByJob]:
    """Return the loose stock that a job took and did not put back, with its cost by lot."""
    return _lots_and_pieces_of_job(job_id)[0]


def _lots_and_pieces_of_job(job_id: int) -> tuple[list[LotUsedByJob], list[tuple[PieceRecord, int | None]]]:
    """Return the loose stock and the pieces that a job has; what it bears of a lot is split over both."""
    loose, fitted = job_use.loose_of_job(job_id), pieces_of_job(job_id)
    lot_costs_minor = lot_costs.costs_in_job(
        job_id, {m.lot_id for m, _ in loose} | {piece.lot_id for piece in fitted}
    )
    used: list[LotUsedByJob] = []
    costs: dict[int, int | None] = {}
    for movement, number in loose:
        pieces = [piece for piece in fitted if piece.lot_id == movement.lot_id]
        cost, *rest = lot_costs.split_cost(lot_costs_minor.get(movement.lot_id), [number, *(1 for _ in pieces)])
        used.append(
            LotUsedByJob(from_row(PartRecord, movement.part), from_row(LotRecord, movement.lot), number, cost)
        )
        costs.update(zip((piece.id for piece in pieces), rest, strict=True))
    for lot_id in {piece.lot_id for piece in fitted if piece.id not in costs}:
        pieces = [piece for piece in fitted if piece.lot_id == lot_id]
        rest = lot_costs.split_cost(lot_costs_minor.get(lot_id), [1 for _ in pieces])
        costs.update(zip((piece.id for piece in pieces), rest, strict=True))
    return used, [(piece, costs[piece.id]) for piece in fitted]


def pieces_of_job(job_id: int) -> list[PieceRecord]:
    """Return the pieces that are fitted in a job's unit."""
    return [from_row(PieceRecord, piece) for piece, _ in job_use.pieces_of_job(job_id)]
