"""Everything that happened to a piece: movements, proofs, loans and holds of its lot, newest first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from inventory.domain.catalogue.history import movements
from inventory.domain.catalogue.lots import holds
from inventory.domain.common.paging import MAX_PAGE_SIZE
from inventory.domain.common.records import HoldRecord, MovementRecord, ResultPage
from inventory.domain.common.validation import get_row
from inventory.domain.proof.loans import CANCELLED, UNIT_WORKED, loans
from inventory.domain.proof.proof_records import LoanRecord, ProofRecord, TimelineEntry
from inventory.domain.proof.proofs import describe_proof, proofs
from inventory.reckoning.proof.standing import chance_text
from inventory.store.tables import Movement, Piece
from shared.codes import format_code


def piece_timeline(piece_id: int) -> list[TimelineEntry]:
    """Return the whole history of a piece, newest first, what was logged by mistake included."""
    piece = get_row(Piece, piece_id, "piece")
    piece_loans = _read_all_pages(loans, piece_id)
    from_loans = {loan.proof_id for loan in piece_loans}
    entries = [
        *_hold_entries(holds(piece.lot_id)),
        *_movement_entries(_read_all_pages(movements, piece_id)),
        *(_proof_entry(page) for page in _read_all_pages(proofs, piece_id) if page.id not in from_loans),
        *(moment for loan in piece_loans for moment in _loan_entries(loan)),
    ]
    return sorted(entries, key=lambda loan: loan.at, reverse=True)


def _read_all_pages(listing: Any, piece_id: int) -> list[Any]:
    """Read a list to its end."""
    items: list[Any] = []
    cursor = None
    while True:
        page: ResultPage = listing(piece_id=piece_id, after=cursor, limit=MAX_PAGE_SIZE)
        items += page.items
        cursor = page.next
        if cursor is None:
            return items


def _movement_entries(lines: Sequence[MovementRecord]) -> Iterable[TimelineEntry]:
    """Say each entry of the ledger once: a move is two lines, and one thing that happened."""
    undone = {line.reverses_id for line in lines if line.reverses_id}
    kinds = {
        movement.id: movement.kind
        for movement in Movement.select(Movement.id, Movement.kind).where(Movement.id << list(undone))
    }
    for entry, of_entry in groupby(lines, key=lambda one: one.entry):
        newest = list(of_entry)
        main = newest[0]
        yield TimelineEntry(
            main.at, "movement", _describe_movement(newest, kinds), main.person, main.job_id, main.job_number,
            struck=main.reversed, entry=entry,
        )  # fmt: skip


def _describe_movement(newest_first: Sequence[MovementRecord], kinds: dict[int, str]) -> str:
    main = newest_first[0]
    why = f": {main.reason}" if main.reason else ""
    job = f" for job {main.job_number}" if main.job_number else ""
    if main.kind == "move" and len(newest_first) > 1:
        return f"moved from {newest_first[1].bin_name} to {main.bin_name}{why}"
    if main.kind == "reverse":
        return f"undone: {kinds.get(main.reverses_id or 0, 'an entry')}{why}"
    words = {
        "receive": f"received into {main.bin_name}",
        "single out": f"singled out from lot {format_code(main.lot_code)} in {main.bin_name}, with its own label",
        "pull": f"taken from {main.bin_name}{job}, to stay there",
        "put back": f"put back into {main.bin_name}, not needed{job}",
        "scrap": f"scrapped from {main.bin_name}",
    }
    return words.get(main.kind, main.kind) + why


def _proof_entry(record: ProofRecord) -> TimelineEntry:
    text = describe_proof(record).rstrip(".")
    instrument = f" ({record.instrument})" if record.instrument else ""
    struck = f"; struck: {record.struck_reason}" if record.struck else ""
    return TimelineEntry(
        record.at, "proof", f"{text}{instrument}{struck}", record.person, record.job_id, record.job_number,
        record.passed, record.struck is not None, proof_id=record.id,
    )  # fmt: skip


def _loan_entries(record: LoanRecord) -> Iterable[TimelineEntry]:
    place = f" in place of {record.suspect}" if record.suspect else ""
    cancelled = record.result == CANCELLED
    believed = f"{record.standing}, {chance_text(record.p_good)} good"
    yield TimelineEntry(
        record.taken, "loan", f"taken out to job {record.job_number}{place} ({believed})", record.taken_by,
        record.job_id, record.job_number, struck=cancelled, loan_id=record.id,
    )  # fmt: skip
    if record.ended is not None:
        good = UNIT_WORKED.get(record.result)
        yield TimelineEntry(
            record.ended, "loan", _describe_loan_end(record), record.ended_by, record.job_id, record.job_number, good,
            cancelled, loan_id=record.id, proof_id=record.proof_id,
        )  # fmt: skip


def _describe_loan_end(record: LoanRecord) -> str:
    if record.result == CANCELLED:
        return f"was not used on job {record.job_number} after all"
    then = "stays fitted" if record.stayed else "brought back"
    return f"job {record.job_number}: {record.result}; {then}"


def _hold_entries(records: Sequence[HoldRecord]) -> Iterable[TimelineEntry]:
    for hold in records:
        yield TimelineEntry(hold.at, "hold", f"its lot went on hold: {hold.reason}", hold.person)
        if hold.ended is not None:
            outcome = f": {hold.outcome}" if hold.outcome else ""
            yield TimelineEntry(hold.ended, "hold", f"the hold on its lot ended{outcome}", hold.ended_by)
