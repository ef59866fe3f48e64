"""The chance that a new part is good before it was run, and which one a job fitted in place of a suspect."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.kind_figures import figures_by_kind, figures_of_part
from inventory.domain.movements.overview import pieces_of_job
from inventory.domain.proof.piece_logs import tests_of_lot
from inventory.domain.proof.standings import standing_of
from inventory.reckoning.proof.piece_events import FromDonor, FromLot, PieceEvent
from inventory.reckoning.proof.standing import assess_standing
from inventory.store.job_use import loose_of_job
from inventory.store.tables import Lot, Part


@dataclass(frozen=True)
class NewPart:
    """A new part with the lot that it came out of (None: not known) and its chance of being good."""

    lot_id: int | None
    p_good: float


def p_good_of_lot(lot: Any) -> float:
    """Return the chance that the next unit out of a lot (row) is good: its origin, its tests, and its age."""
    now = clock.now()
    if lot.origin == "donor":
        events: list[PieceEvent] = [FromDonor(lot.received, bool(lot.donor_worked))]
    else:
        tests = tests_of_lot(lot.id, now)
        events = [FromLot(lot.received), FromLot(now, len(tests), sum(not test.passed for test in tests))]
    return assess_standing(events, figures_of_part(lot.part), now).p_good


def p_good_of_part(part: Part | None) -> float:
    """Return the chance that a part just delivered is good, from its kind alone (assumed)."""
    return figures_by_kind()[part.kind if part is not None else "other"].lot_prior


def new_part_fitted(job_id: int, part: Part | None, lot_id: int | None = None) -> NewPart:
    """Return the part that a job took last of the suspect's *part*, or one of the lot named."""
    if lot_id is not None:
        return NewPart(lot_id, p_good_of_lot(Lot.get_by_id(lot_id)))
    if part is not None:
        pieces = [piece for piece in pieces_of_job(job_id) if piece.part_id == part.id]
        if pieces:
            return NewPart(pieces[-1].lot_id, standing_of(pieces[-1].id).p_good)
        lines = loose_of_job(job_id, part.id)
        if lines:
            newest, _ = lines[0]
            return NewPart(newest.lot_id, p_good_of_lot(newest.lot))
    return NewPart(None, p_good_of_part(part))
