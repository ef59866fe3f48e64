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
from inventory.domain.common.records import JobRecord, LotRecord, PartRecord, PieceRecord, read
from inventory.domain.jobs import jobs
from inventory.domain.movements.overview import pieces_of_job
from inventory.domain.proof.loans import loans
from inventory.domain.proof.proof_records import LoanRecord
from inventory.domain.proof.proofs import proofs
from inventory.domain.proof.standings import see
from inventory.domain.quality.lot_origins import origin_of, origins_of
from inventory.domain.quality.trace_records import JobTrace, Left, LotTrace, Reached, Used
from inventory.store import job_use
from inventory.store.connection import run
from inventory.store.tables import Job, Loan, Lot, Part, Piece, Proof, UnitModel

MOST = 200  # pieces, loans and proofs that one page shows

# ---- from a lot ------------------------------------------------------------------------------------------


def trace_lot(lot_id: int) -> LotTrace:
    """Return where a lot came from and where all of it went."""
    found = lot(lot_id)
    made = [row.id for row in Piece.select(Piece.id).where(Piece.lot == lot_id).order_by(Piece.id).limit(MOST)]
    by_kind, back, gone = _by_kind(lot_id), _sent_back(lot_id), reached_jobs(lot_id)
    places = tuple(_places(lot_id))
    left = sum(one.quantity + one.pieces for one in places)
    received, off = by_kind.get("receive", 0), -by_kind.get("scrap", 0)
    return LotTrace(
        found, part(found.part_id), origin_of(found), tuple(gone), tuple(see(made)), places, back, off - back,
        max(0, received - left - off - sum(one.quantity for one in gone)),
    )  # fmt: skip


def reached_jobs(lot_id: int) -> list[Reached]:
    """Return every job that a lot reached: fitted in its unit, or by a piece that it borrowed or ran."""
    fitted, borrowed = job_use.of_lot(lot_id), _borrowers(lot_id)
    records = {one.id: one for one in job_records(fitted.keys() | borrowed.keys())}
    found = [Reached(records[key], fitted.get(key, 0), tuple(borrowed.get(key, ()))) for key in records]
    return sorted(found, key=lambda one: (not one.open, -one.job.id))


def job_records(ids: Iterable[int]) -> list[JobRecord]:
    """Return jobs by their ids, in one query."""
    rows = list(Job.select().where(Job.id << list(ids)))
    models = UnitModel.select().where(UnitModel.id << {one.unit_model_id for one in rows})
    names = {one.id: one.name for one in models}
    return [read(JobRecord, one, unit_model=names.get(one.unit_model_id, "")) for one in rows]


def _borrowers(lot_id: int) -> dict[int, list[PieceRecord]]:
    """Return by job the pieces of a lot that it borrowed or saw running, and did not keep."""
    lent: Any = Loan.select(Loan.job, Loan.piece).where(~Loan.stayed, Loan.result != "cancelled")
    ran: Any = Proof.select(Proof.job, Proof.piece).where(Proof.job.is_null(False), Proof.struck.is_null())
    mine = {one.id: read(PieceRecord, one) for one in Piece.select().where(Piece.lot == lot_id)}
    found: dict[int, dict[int, PieceRecord]] = defaultdict(dict)
    for query, table in ((lent, Loan), (ran, Proof)):
        for job_id, piece_id in query.where(table.piece << list(mine)).tuples():
            found[job_id][piece_id] = mine[piece_id]
    return {job: list(pieces.values()) for job, pieces in found.items()}


def _places(lot_id: int) -> Iterable[Left]:
    loose = {one.bin.id: one for one in bins.holdings(lot_id=lot_id)}
    single: dict[int, int] = {}
    for one in bins.pieces_in(lot_id=lot_id):
        single[one.bin_id or 0] = single.get(one.bin_id or 0, 0) + 1
    for key in dict.fromkeys([*loose, *single]):
        yield Left(
            bins.bin_(key) if key not in loose else loose[key].bin,
            loose[key].quantity if key in loose else 0, single.get(key, 0),
        )  # fmt: skip


_BY_KIND = f"SELECT {job_use.KIND}, SUM(m.quantity) FROM {job_use.LINES} WHERE m.lot_id = ? GROUP BY 1"


def _by_kind(lot_id: int) -> dict[str, int]:
    return {str(kind): int(quantity) for kind, quantity in run(_BY_KIND, lot_id).fetchall()}


_SENT_BACK = (
    "SELECT COALESCE(SUM(s.quantity), 0) FROM sent_back s WHERE s.lot_id = ?"
    " AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses_id = s.entry)"
)


def _sent_back(lot_id: int) -> int:
    return int(run(_SENT_BACK, lot_id).fetchone()[0])


# ---- from a job ------------------------------------------------------------------------------------------


def trace_job(job_id: int) -> JobTrace:
    """Return every lot and piece that a job used, proved or borrowed."""
    found = jobs.job(job_id)
    lent: list[LoanRecord] = list(loans(job_id=job_id, limit=MOST).items)
    proved = tuple(proofs(job_id=job_id, limit=MOST).items)
    names = {one.id: one.name or one.code for one in Piece.select().where(Piece.id << [p.piece_id for p in proved])}
    return JobTrace(
        found, tuple(_used(job_id)), tuple(one for one in lent if one.result != "cancelled"), proved,
        tuple(names[one.piece_id] for one in proved),
    )  # fmt: skip


def _used(job_id: int) -> list[Used]:
    numbers = job_use.of_job(job_id)
    rows = list(Lot.select(Lot, Part).join(Part).where(Lot.id << list(numbers)).order_by(Part.name, Lot.id))
    fitted: dict[int, list[PieceRecord]] = defaultdict(list)
    for one in pieces_of_job(job_id):
        fitted[one.lot_id].append(one)
    origins = origins_of([read(LotRecord, one) for one in rows])
    borne = costs_in_job(job_id, numbers)
    return [
        Used(
            read(PartRecord, one.part), read(LotRecord, one), origins[one.id], numbers[one.id],
            borne.get(one.id), tuple(fitted[one.id]),
        )
        for one in rows
    ]  # fmt: skip


def share_of_cost(found: Any, number: int) -> int | None:
    """Return what *number* base units of a lot are worth, to the nearest minor unit; None: not known.

    What a job bears is told by ``lot_costs``, which adds up; this is for a number that nobody has.
    """
    return (
        None if found.cost_minor is None or not found.quantity else round(found.cost_minor * number / found.quantity)
    )
