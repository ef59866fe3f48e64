"""Everything that happened to a piece: movements, proofs, loans and holds of its lot, newest first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from inventory.domain.catalogue.history import movements
from inventory.domain.catalogue.lots import holds
from inventory.domain.common.paging import MOST
from inventory.domain.common.records import HoldRecord, MovementRecord, Page
from inventory.domain.common.validation import row
from inventory.domain.proof.loans import loans
from inventory.domain.proof.proof_records import LoanRecord, Moment, ProofRecord
from inventory.domain.proof.proofs import in_words, proofs
from inventory.reckoning.proof.standing import percent
from inventory.store.tables import Movement, Piece
from shared.codes import grouped


def timeline(piece_id: int) -> list[Moment]:
    """Return the whole history of a piece, newest first, what was logged by mistake included."""
    piece = row(Piece, piece_id, "piece")
    lent = _all(loans, piece_id)
    from_loans = {one.proof_id for one in lent}
    said = [
        *_holds(holds(piece.lot_id)),
        *_moved(_all(movements, piece_id)),
        *(_proved(one) for one in _all(proofs, piece_id) if one.id not in from_loans),
        *(moment for one in lent for moment in _lent(one)),
    ]
    return sorted(said, key=lambda one: one.at, reverse=True)


def _all(listing: Any, piece_id: int) -> list[Any]:
    """Read a list to its end."""
    found: list[Any] = []
    mark = None
    while True:
        page: Page = listing(piece_id=piece_id, after=mark, limit=MOST)
        found += page.items
        mark = page.next
        if mark is None:
            return found


def _moved(lines: Sequence[MovementRecord]) -> Iterable[Moment]:
    """Say each entry of the ledger once: a move is two lines, and one thing that happened."""
    undone = {one.reverses_id for one in lines if one.reverses_id}
    kinds = {
        one.id: one.kind for one in Movement.select(Movement.id, Movement.kind).where(Movement.id << list(undone))
    }
    for entry, of_entry in groupby(lines, key=lambda one: one.entry):
        newest = list(of_entry)
        main = newest[0]
        yield Moment(
            main.at, "movement", _movement_in_words(newest, kinds), main.person, main.job_id, main.job_number,
            struck=main.reversed, entry=entry,
        )  # fmt: skip


def _movement_in_words(newest_first: Sequence[MovementRecord], kinds: dict[int, str]) -> str:
    main = newest_first[0]
    why = f": {main.reason}" if main.reason else ""
    job = f" for job {main.job_number}" if main.job_number else ""
    if main.kind == "move" and len(newest_first) > 1:
        return f"moved from {newest_first[1].bin_name} to {main.bin_name}{why}"
    if main.kind == "reverse":
        return f"undone: {kinds.get(main.reverses_id or 0, 'an entry')}{why}"
    words = {
        "receive": f"received into {main.bin_name}",
        "single out": f"singled out from lot {grouped(main.lot_code)} in {main.bin_name}, with its own label",
        "pull": f"taken from {main.bin_name}{job}, to stay there",
        "put back": f"put back into {main.bin_name}, not needed{job}",
        "scrap": f"scrapped from {main.bin_name}",
    }
    return words.get(main.kind, main.kind) + why


def _proved(one: ProofRecord) -> Moment:
    text = in_words(one).rstrip(".")
    instrument = f" ({one.instrument})" if one.instrument else ""
    struck = f"; struck: {one.struck_reason}" if one.struck else ""
    return Moment(
        one.at, "proof", f"{text}{instrument}{struck}", one.person, one.job_id, one.job_number, one.passed,
        one.struck is not None, proof_id=one.id,
    )  # fmt: skip


def _lent(one: LoanRecord) -> Iterable[Moment]:
    place = f" in place of {one.suspect}" if one.suspect else ""
    cancelled = one.result == "cancelled"
    believed = f"{one.standing}, {percent(one.p_good)} good"
    yield Moment(
        one.taken, "loan", f"taken out to job {one.job_number}{place} ({believed})", one.taken_by, one.job_id,
        one.job_number, struck=cancelled, loan_id=one.id,
    )  # fmt: skip
    if one.ended is not None:
        good = {"works with it": True, "still fails": False}.get(one.result)
        yield Moment(
            one.ended, "loan", _ended_in_words(one), one.ended_by, one.job_id, one.job_number, good, cancelled,
            loan_id=one.id, proof_id=one.proof_id,
        )  # fmt: skip


def _ended_in_words(one: LoanRecord) -> str:
    if one.result == "cancelled":
        return f"was not used on job {one.job_number} after all"
    then = "stays fitted" if one.stayed else "brought back"
    return f"job {one.job_number}: {one.result}; {then}"


def _holds(found: Sequence[HoldRecord]) -> Iterable[Moment]:
    for one in found:
        yield Moment(one.at, "hold", f"its lot went on hold: {one.reason}", one.person)
        if one.ended is not None:
            outcome = f": {one.outcome}" if one.outcome else ""
            yield Moment(one.ended, "hold", f"the hold on its lot ended{outcome}", one.ended_by)
