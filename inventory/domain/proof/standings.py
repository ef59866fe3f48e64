"""Standing of pieces: how far each can be trusted, now or at any past moment, and which to prove again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.records import LotRecord, PartRecord, PieceRecord, from_row
from inventory.domain.common.validation import get_row
from inventory.domain.proof.piece_locations import piece_locations
from inventory.domain.proof.piece_logs import PieceLog, piece_logs
from inventory.domain.proof.proof_records import STANDINGS_BEST_FIRST, PieceStatus, StandingRecord, StandingStep
from inventory.reckoning.common.bayes import swap_likelihoods
from inventory.reckoning.proof.standing import assess_standing, chance_text, tenths_of_percent
from inventory.store.connection import batches
from inventory.store.tables import Lot, Part, Piece

DONOR_STATE_UNKNOWN = "came from a donor unit; whether it worked was not noted, so it counts as dead"


def standing_of(piece_id: int, at: datetime | None = None) -> StandingRecord:
    """Return the standing of one piece at *at* (aware; default now)."""
    get_row(Piece, piece_id, "piece")
    return standings_of([piece_id], at)[piece_id]


def standings_of(piece_ids: Iterable[int], at: datetime | None = None) -> dict[int, StandingRecord]:
    """Return by piece the standing at *at* (aware; default now) of those that exist."""
    moment = at or clock.now()
    return {log.piece_id: _record(log, moment) for log in piece_logs(piece_ids, moment)}


def _record(log: PieceLog, moment: datetime) -> StandingRecord:
    standing = assess_standing(log.events, log.kind, moment)
    return StandingRecord(
        piece_id=log.piece_id, at=moment, word=standing.word, p_good=standing.p_good, why=standing.why,
        worth=describe_test_value(standing.p_good), valid_until=standing.valid_until,
        proof_until=standing.proof_until, next_word=standing.due.word if standing.due else "",
        next_on=standing.due.on if standing.due else None, matings=standing.facts.matings,
        rated_matings=log.kind.rated_matings, steps=_standing_steps(log, standing.steps),
    )  # fmt: skip


def _standing_steps(log: PieceLog, steps: Sequence[Any]) -> tuple[StandingStep, ...]:
    records = [StandingStep(step.at, step.p_good, step.words) for step in steps]
    if records and log.donor_not_noted:
        records[0] = replace(records[0], words=DONOR_STATE_UNKNOWN)
    return tuple(records)


def uncertain_chance_text(p: float) -> str:
    """Return a chance in words as pages show it: even 0 and 1 are never shown as certain."""
    return f"{tenths_of_percent(p) / 10:g} %"


def suspect_after_failed_swap(p_good: float) -> float:
    """Return P(suspect) after a unit still failed with a spare of this chance, if it was 0.5 before.

    Either the suspect is the one fault, or something else is. P(suspect | still fails), with the usual mask and
    misread chances: a spare of .957 clears it down to 5 %, one of .898 to 10 %.
    """
    if_good, if_bad = swap_likelihoods(works=False, a=1.0)  # the suspect was the one fault
    suspect = p_good * if_good + (1.0 - p_good) * if_bad
    return suspect / (suspect + if_bad)  # had it been something else, it would fail as with a bad spare


def describe_test_value(p_good: float) -> str:
    """Return in words what a swap test with a spare of this chance can show."""
    left = chance_text(suspect_after_failed_swap(p_good))
    return f"If the unit still fails with it, a suspect that was at 50 % falls to {left}."


# ---- pieces with their standing --------------------------------------------------------------------------


def piece_statuses(piece_ids: Iterable[int], moment: datetime | None = None) -> list[PieceStatus]:
    """Return pieces with part, lot, place and standing, in the order of *piece_ids*; unknown ids are left out."""
    ids = list(dict.fromkeys(piece_ids))
    statuses: dict[int, PieceStatus] = {}
    for batch in batches(ids):
        rows = list(Piece.select(Piece, Part, Lot).join(Part).switch(Piece).join(Lot).where(Piece.id << batch))
        locations, standings = piece_locations(rows), standings_of(batch, moment)
        for row in rows:
            statuses[row.id] = PieceStatus(
                from_row(PieceRecord, row),
                from_row(PartRecord, row.part),
                from_row(LotRecord, row.lot),
                locations[row.id],
                standings[row.id],
            )
    return [statuses[piece_id] for piece_id in ids if piece_id in statuses]


def is_available(status: PieceStatus) -> bool:
    """Tell whether a piece can be taken: it is in its bin, and its lot is not on hold."""
    return status.where.state == "in bin" and not status.lot.on_hold


def is_fittable(status: PieceStatus) -> bool:
    """Tell whether a piece can be fitted for good: it is available, and not a spare kept to test with."""
    return is_available(status) and not status.piece.spare


def is_testing_spare(status: PieceStatus) -> bool:
    """Tell whether a piece may serve in a swap test: it is kept as a spare, and has not failed."""
    return status.piece.spare and status.standing.word != "failed"


def trust_order(status: PieceStatus) -> tuple[int, float]:
    """Return the sort key that puts the most trustworthy piece first: by its standing, then by P(good)."""
    return STANDINGS_BEST_FIRST.index(status.standing.word), -status.standing.p_good


def pieces_lapsing_soon(within_days: int = 30) -> list[PieceStatus]:
    """Return the proved pieces of the bench whose standing runs out within so many days, the soonest first."""
    until = clock.today() + timedelta(days=within_days)
    due = [
        status
        for status in _pieces_here()
        if status.standing.valid_until is not None and status.standing.valid_until <= until
    ]
    return sorted(due, key=lambda status: (status.standing.valid_until, status.piece.id))


def lapsed_pieces() -> list[PieceStatus]:
    """Return the pieces of the bench whose proof ran out or whose contacts are worn, the longest ago first."""
    lapsed = [status for status in _pieces_here() if status.standing.word == "lapsed"]
    return sorted(lapsed, key=lambda status: (str(status.standing.proof_until or ""), status.piece.id))


def _pieces_here() -> list[PieceStatus]:
    rows = Piece.select(Piece.id).where(Piece.bin.is_null(False)).order_by(Piece.id)
    return piece_statuses([row.id for row in rows])
