"""Provenance both ways: from a lot to every job it reached, from a job to every lot and piece in it.

What a job has of a lot is ``job_use``, which a covering index answers alone: a recall must not wait.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.lot_costs import costs_in_job
from inventory.domain.catalogue.lots import lot
from inventory.domain.catalogue.parts import part
from inventory.domain.common.records import JobRecord, LotRecord, PartRecord, PieceRecord, from_row
from inventory.domain.jobs import jobs
from inventory.domain.movements.overview import pieces_of_job
from inventory.domain.proof.loans import loans
from inventory.domain.proof.proof_records import LoanRecord
from inventory.domain.proof.proofs import proofs
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.quality.lot_origins import lot_origin, lot_origins
from inventory.domain.quality.trace_records import JobTrace, LotTrace, ReachedJob, RemainingInBin, UsedLot
from inventory.store import job_use
from inventory.store.connection import execute
from inventory.store.tables import Job, Loan, Lot, Part, Piece, Proof, UnitModel

MAX_SHOWN = 200  # pieces, loans and proofs that one page shows

# ---- from a lot ------------------------------------------------------------------------------------------


def trace_lot(lot_id: int) -> LotTrace:
    """Return where a lot came from and where all of it went."""
    record = lot(lot_id)
    piece_ids = [
        row.id for row in Piece.select(Piece.id).where(Piece.lot == lot_id).order_by(Piece.id).limit(MAX_SHOWN)
    ]
    by_kind, sent, jobs_reached = _quantity_by_kind(lot_id), _sent_back(lot_id), reached_jobs(lot_id)
    places = tuple(_remaining_by_bin(lot_id))
    left = sum(place.quantity + place.pieces for place in places)
    received, scrapped = by_kind.get("receive", 0), -by_kind.get("scrap", 0)
    return LotTrace(
        record,
        part(record.part_id),
        lot_origin(record),
        tuple(jobs_reached),
        tuple(piece_statuses(piece_ids)),
        places,
        sent,
        scrapped - sent,
        max(0, received - left - scrapped - sum(job.quantity for job in jobs_reached)),
    )


def reached_jobs(lot_id: int) -> list[ReachedJob]:
    """Return every job that a lot reached: fitted in its unit, or by a piece that it borrowed or ran."""
    fitted, borrowed = job_use.of_lot(lot_id), _borrowed_by_job(lot_id)
    records = {record.id: record for record in job_records(fitted.keys() | borrowed.keys())}
    reached = [ReachedJob(records[key], fitted.get(key, 0), tuple(borrowed.get(key, ()))) for key in records]
    return sorted(reached, key=lambda reach: (not reach.open, -reach.job.id))


def job_records(ids: Iterable[int]) -> list[JobRecord]:
    """Return jobs by their ids, in one query."""
    rows = list(Job.select().where(Job.id << list(ids)))
    models = UnitModel.select().where(UnitModel.id << {row.unit_model_id for row in rows})
    names = {model.id: model.name for model in models}
    return [from_row(JobRecord, row, unit_model=names.get(row.unit_model_id, "")) for row in rows]


def _borrowed_by_job(lot_id: int) -> dict[int, list[PieceRecord]]:
    """Return by job the pieces of a lot that it borrowed or saw running, and did not keep."""
    lent: Any = Loan.select(Loan.job, Loan.piece).where(~Loan.stayed, Loan.result != "cancelled")
    ran: Any = Proof.select(Proof.job, Proof.piece).where(Proof.job.is_null(False), Proof.struck.is_null())
    pieces_of_lot = {piece.id: from_row(PieceRecord, piece) for piece in Piece.select().where(Piece.lot == lot_id)}
    borrowed: dict[int, dict[int, PieceRecord]] = defaultdict(dict)
    for query, table in ((lent, Loan), (ran, Proof)):
        for job_id, piece_id in query.where(table.piece << list(pieces_of_lot)).tuples():
            borrowed[job_id][piece_id] = pieces_of_lot[piece_id]
    return {job: list(pieces.values()) for job, pieces in borrowed.items()}


def _remaining_by_bin(lot_id: int) -> Iterable[RemainingInBin]:
    loose = {holding.bin.id: holding for holding in bins.holdings(lot_id=lot_id)}
    single: dict[int, int] = {}
    for piece in bins.stocked_pieces(lot_id=lot_id):
        single[piece.bin_id or 0] = single.get(piece.bin_id or 0, 0) + 1
    for key in dict.fromkeys([*loose, *single]):
        yield RemainingInBin(
            bins.get_bin(key) if key not in loose else loose[key].bin,
            loose[key].quantity if key in loose else 0, single.get(key, 0),
        )  # fmt: skip


_BY_KIND = f"SELECT {job_use.KIND}, SUM(m.quantity) FROM {job_use.LINES} WHERE m.lot_id = ? GROUP BY 1"


def _quantity_by_kind(lot_id: int) -> dict[str, int]:
    return {str(kind): int(quantity) for kind, quantity in execute(_BY_KIND, lot_id).fetchall()}


_SENT_BACK_SQL = (
    "SELECT COALESCE(SUM(s.quantity), 0) FROM sent_back s JOIN movements m ON m.id = s.entry"
    f" WHERE s.lot_id = ? AND {job_use.STANDS}"
)


def _sent_back(lot_id: int) -> int:
    return int(execute(_SENT_BACK_SQL, lot_id).fetchone()[0])


# ---- from a job ------------------------------------------------------------------------------------------


def trace_job(job_id: int) -> JobTrace:
    """Return every lot and piece that a job used, proved or borrowed."""
    record = jobs.job(job_id)
    lent: list[LoanRecord] = list(loans(job_id=job_id, limit=MAX_SHOWN).items)
    proved = tuple(proofs(job_id=job_id, limit=MAX_SHOWN).items)
    names = {piece.id: piece.shown_as for piece in Piece.select().where(Piece.id << [p.piece_id for p in proved])}
    return JobTrace(
        record, tuple(_lots_used(job_id)), tuple(item for item in lent if item.result != "cancelled"), proved,
        tuple(names[item.piece_id] for item in proved),
    )  # fmt: skip


def _lots_used(job_id: int) -> list[UsedLot]:
    numbers = job_use.of_job(job_id)
    rows = list(Lot.select(Lot, Part).join(Part).where(Lot.id << list(numbers)).order_by(Part.name, Lot.id))
    fitted: dict[int, list[PieceRecord]] = defaultdict(list)
    for piece in pieces_of_job(job_id):
        fitted[piece.lot_id].append(piece)
    origins = lot_origins([from_row(LotRecord, row) for row in rows])
    borne = costs_in_job(job_id, numbers)
    return [
        UsedLot(
            from_row(PartRecord, row.part), from_row(LotRecord, row), origins[row.id], numbers[row.id],
            borne.get(row.id), tuple(fitted[row.id]),
        )
        for row in rows
    ]  # fmt: skip


def share_of_cost(lot_row: Any, number: int) -> int | None:
    """Return what *number* base units of a lot are worth, to the nearest minor unit; None: not known.

    What a job bears is told by ``lot_costs``, which adds up; this is for a number that nobody has.
    """
    return (
        None
        if lot_row.cost_minor is None or not lot_row.quantity
        else round(lot_row.cost_minor * number / lot_row.quantity)
    )
