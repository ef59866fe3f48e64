"""How good a new part is before anybody ran it, and which one a job fitted in place of a suspect."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.kind_figures import figures_by_kind, figures_of_part
from inventory.domain.movements.overview import pieces_of_job
from inventory.domain.proof.standings import standing_of
from inventory.reckoning.proof.piece_events import FromDonor, FromLot, PieceEvent
from inventory.reckoning.proof.standing import assess_standing
from inventory.store.job_use import loose_of_job
from inventory.store.tables import IncomingCheck, IncomingTest, Lot, Part, Piece, Proof


@dataclass(frozen=True)
class NewPart:
    """A new part with the lot that it came out of (None: not known) and its chance of being good."""

    lot_id: int | None
    p_good: float


def p_good_of_lot(lot: Any) -> float:
    """Return the chance that the next one out of a lot is good: its origin, what was tested of it, and its age.

    Each piece of the lot that was tested counts once, by its first test, and so does each of those without a label
    that were tested when the lot came in.
    """
    if lot.origin == "donor":
        events: list[PieceEvent] = [FromDonor(lot.received, bool(lot.donor_worked))]
    else:
        first: dict[int, bool] = {}
        query = Proof.select(Proof, Piece).join(Piece).where(Piece.lot == lot.id, Proof.struck.is_null())
        for one in query.order_by(Proof.at, Proof.id):
            first.setdefault(one.piece_id, one.passed)
        tests = [*first.values(), *_unlabelled_test_results(lot.id)]
        events = [FromLot(lot.received), FromLot(clock.now(), len(tests), tests.count(False))]
    return assess_standing(events, figures_of_part(lot.part), clock.now()).p_good


def _unlabelled_test_results(lot_id: int) -> list[bool]:
    """Return the results of those that were tested for an incoming check and keep no proof of their own."""
    query = IncomingTest.select(IncomingTest.good).join(IncomingCheck).where(
        IncomingCheck.lot == lot_id, IncomingTest.proof.is_null(), IncomingTest.struck.is_null()
    )  # fmt: skip
    return [bool(one.good) for one in query]


def p_good_of_part(part: Part | None) -> float:
    """Return the chance that one just delivered is good, from the kind alone (assumed)."""
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
