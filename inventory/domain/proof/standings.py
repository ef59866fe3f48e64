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
from inventory.domain.proof.proof_records import PieceStatus, StandingRecord, StandingStep
from inventory.reckoning.common.bayes import swap_likelihoods
from inventory.reckoning.proof.standing import assess_standing, chance_text
from inventory.store.connection import batches
from inventory.store.tables import Lot, Part, Piece

STANDINGS_BEST_FIRST = ("proved", "lapsed", "unproved", "doubtful", "failed")
DONOR_STATE_UNKNOWN = "came from a donor unit; whether it worked was not noted, so it counts as dead"


def standing_of(piece_id: int, at: datetime | None = None) -> StandingRecord:
    """Return the standing of one piece at *at* (aware; default now)."""
    get_row(Piece, piece_id, "piece")
    return standings_of([piece_id], at)[piece_id]


def standings_of(piece_ids: Iterable[int], at: datetime | None = None) -> dict[int, StandingRecord]:
    """Return by piece the standing at *at* (aware; default now) of those that exist."""
    moment = at or clock.now()
    return {log.piece_id: _record(log, moment) for log in piece_logs(piece_ids, moment)}


def _record(log: PieceLog, at: datetime) -> StandingRecord:
    found = assess_standing(log.events, log.kind, at)
    return StandingRecord(
        piece_id=log.piece_id, at=at, word=found.word, p_good=found.p_good, why=found.why,
        worth=describe_test_value(found.p_good), valid_until=found.valid_until, proof_until=found.proof_until,
        next_word=found.due.word if found.due else "", next_on=found.due.on if found.due else None,
        matings=found.facts.matings, rated_matings=log.kind.rated_matings,
        steps=_standing_steps(log, found.steps),
    )  # fmt: skip


def _standing_steps(log: PieceLog, steps: Sequence[Any]) -> tuple[StandingStep, ...]:
    said = [StandingStep(step.at, step.p_good, step.words) for step in steps]
    if said and log.donor_not_noted:
        said[0] = replace(said[0], words=DONOR_STATE_UNKNOWN)
    return tuple(said)


def suspect_after_failed_swap(p_good: float) -> float:
    """Return what a unit that still fails with a spare leaves of a suspect that was as likely as not.

    Either the suspect is the one fault, or something else is. P(suspect | still fails), with the usual mask and
    misread chances: a spare of .957 clears it down to 5 %, one of .898 to 10 %.
    """
    if_good, if_bad = swap_likelihoods(works=False, a=1.0)  # the suspect was the one fault
    suspect = p_good * if_good + (1.0 - p_good) * if_bad
    return suspect / (suspect + if_bad)  # had it been something else, it would fail as with a bad spare


def describe_test_value(p_good: float) -> str:
    """Say what a swap test with a spare of this chance can show."""
    left = chance_text(suspect_after_failed_swap(p_good))
    return f"If the unit still fails with it, a suspect that was at 50 % falls to {left}."


# ---- pieces with their standing --------------------------------------------------------------------------


def most_trusted_first(statuses: Iterable[PieceStatus]) -> list[PieceStatus]:
    """Return pieces by standing, proved ones first, and by the chance of being good within one."""
    return sorted(
        statuses, key=lambda status: (STANDINGS_BEST_FIRST.index(status.standing.word), -status.standing.p_good)
    )


def piece_statuses(piece_ids: Iterable[int], at: datetime | None = None) -> list[PieceStatus]:
    """Return pieces with part, lot, place and standing, in the order asked for; those unknown are left out."""
    ids = list(dict.fromkeys(piece_ids))
    found: dict[int, PieceStatus] = {}
    for batch in batches(ids):
        rows = list(Piece.select(Piece, Part, Lot).join(Part).switch(Piece).join(Lot).where(Piece.id << batch))
        places, standings = piece_locations(rows), standings_of(batch, at)
        for row in rows:
            found[row.id] = PieceStatus(
                from_row(PieceRecord, row),
                from_row(PartRecord, row.part),
                from_row(LotRecord, row.lot),
                places[row.id],
                standings[row.id],
            )
    return [found[one] for one in ids if one in found]


def pieces_lapsing_soon(within_days: int = 30) -> list[PieceStatus]:
    """Return the proved pieces of the bench whose standing runs out within so many days, the first first."""
    until = clock.today() + timedelta(days=within_days)
    due = [
        one for one in _pieces_here() if one.standing.valid_until is not None and one.standing.valid_until <= until
    ]
    return sorted(due, key=lambda one: (one.standing.valid_until, one.piece.id))


def lapsed_pieces() -> list[PieceStatus]:
    """Return the pieces of the bench whose proof ran out or whose contacts are worn, the longest ago first."""
    found = [one for one in _pieces_here() if one.standing.word == "lapsed"]
    return sorted(found, key=lambda one: (str(one.standing.proof_until or ""), one.piece.id))


def _pieces_here() -> list[PieceStatus]:
    rows = Piece.select(Piece.id).where(Piece.bin.is_null(False)).order_by(Piece.id)
    return piece_statuses([row.id for row in rows])
