"""Count walks: bins in the order of the walk, two people at once, differences kept until somebody looks at them.

What was counted is taken in by ``count_entry``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Any

from peewee import JOIN

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.parts import part
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.records import BinRecord, LotRecord, PieceRecord, from_row
from inventory.domain.common.validation import clean_text, get_row
from inventory.domain.stocktake.count_records import BinToCount, CountWalkRecord, LotToCount, WalkBinRecord
from inventory.store import ledger
from inventory.store.connection import execute, transaction
from inventory.store.job_use import STANDS
from inventory.store.tables import Balance, Bin, CountEntry, CountWalk, Loan, Lot, Person, Piece, WalkBin

BUSY_TIME = timedelta(minutes=15)  # after this, somebody else may count the bin
UNCOUNTED_STATES = ("to count", "recount")
MAX_BINS = 1000
MAX_USED_UP_LOTS = 5  # used-up lots that a count offers


def start_walk(
    bin_ids: Iterable[int] | None = None, *, blind: bool = True, note: str = "", by: int | None = None
) -> CountWalkRecord:
    """Begin a walk past some bins (None: all in use); *blind* hides what the book says.

    Raises Conflict for a bin that is in an open walk already, is retired, or has a blank label.
    """
    with transaction():
        clean_note = clean_text(note, "note", 300)
        bin_rows = _bins_to_walk(bin_ids)
        walk = CountWalk.create(started=clock.now(), person=by, blind=bool(blind), note=clean_note)
        for bin_ in bin_rows:
            WalkBin.create(walk=walk.id, bin=bin_.id)
        return get_walk(walk.id)


def _bins_to_walk(bin_ids: Iterable[int] | None) -> list[Any]:
    open_bins = {
        walk_bin.bin_id
        for walk_bin in WalkBin.select(WalkBin.bin).join(CountWalk).where(CountWalk.ended.is_null(True))
    }
    if bin_ids is None:
        query = Bin.select().where(~Bin.retired, Bin.name.is_null(False)).order_by(Bin.walk, Bin.name)
        bin_rows = [bin_ for bin_ in query if bin_.id not in open_bins]
    else:
        bin_rows = [_walkable_bin(get_row(Bin, key, "bin"), open_bins) for key in dict.fromkeys(bin_ids)]
    if not 0 < len(bin_rows) <= MAX_BINS:
        sentence = f"Choose 1 to {MAX_BINS} bins to count; those in an open walk are left out."
        raise Invalid(sentence, errors={"bin_ids": [sentence]})
    return bin_rows


def _walkable_bin(bin_: Any, open_bins: set[int]) -> Any:
    if bin_.retired or bin_.name is None:
        raise Conflict(f"Bin {bin_.shown_as} is not in use: leave it out.", reason="not_in_use")
    if bin_.id in open_bins:
        raise Conflict(f"Bin {bin_.name} is in an open walk already: count it there.", reason="in_a_walk")
    return bin_


def get_walk(walk_id: int) -> CountWalkRecord:
    """Return how far a walk is."""
    row = get_row(CountWalk, walk_id, "count walk")
    states = [walk_bin.state for walk_bin in WalkBin.select(WalkBin.state).where(WalkBin.walk == walk_id)]
    return from_row(
        CountWalkRecord, row, person=_person_name(row), bins=len(states),
        to_count=sum(state in UNCOUNTED_STATES for state in states), differ=states.count("counted"),
    )  # fmt: skip


def _person_name(row: Any) -> str:
    return row.person.shown_as if row.person_id else ""


def list_walks(*, open_: bool | None = None, limit: int = 50) -> list[CountWalkRecord]:
    """Return walks, newest first."""
    query = CountWalk.select(CountWalk.id).order_by(CountWalk.id.desc()).limit(limit)
    if open_ is not None:
        query = query.where(CountWalk.ended.is_null(open_))
    return [get_walk(row.id) for row in query]


def walk_bins(walk_id: int) -> list[WalkBinRecord]:
    """Return the bins of a walk in the order in which they are walked past."""
    get_row(CountWalk, walk_id, "count walk")
    query = WalkBin.select(WalkBin, Bin, Person).join(Bin).switch(WalkBin).join(Person, JOIN.LEFT_OUTER)
    rows = list(query.where(WalkBin.walk == walk_id).order_by(Bin.walk, Bin.name, Bin.id))
    rounds = execute(
        "SELECT t.walk_bin_id, MAX(t.round) FROM tallies t JOIN walk_bins w ON w.id = t.walk_bin_id"
        " WHERE w.walk_id = ? GROUP BY t.walk_bin_id",
        walk_id,
    ).fetchall()  # fmt: skip
    counted = {int(key): int(number) for key, number in rounds}
    return [_bin_record(row, counted.get(row.id, 0)) for row in rows]


def _bin_record(row: Any, rounds: int) -> WalkBinRecord:
    busy = row.state in UNCOUNTED_STATES and row.taken is not None and clock.now() - row.taken < BUSY_TIME
    return WalkBinRecord(
        row.id, from_row(BinRecord, row.bin), row.state, _person_name(row), row.person_id, busy, rounds,
    )  # fmt: skip


# ---- walking ---------------------------------------------------------------------------------------------


def claim_next_bin(walk_id: int, *, by: int) -> WalkBinRecord | None:
    """Give somebody the next bin to count, and keep it for them for a quarter of an hour (None: none is left).

    Their own unfinished bin first, then the order of the walk; a bin to be counted again goes to somebody who did
    not count it last, where there is such a bin.
    """
    with transaction():
        open_walk_row(walk_id)
        waiting = [bin_ for bin_ in walk_bins(walk_id) if bin_.state in UNCOUNTED_STATES]
        free = [bin_ for bin_ in waiting if not bin_.busy or bin_.person_id == by]
        if not free:
            return None
        chosen = min(enumerate(free), key=lambda pair: (*_bin_priority(pair[1], by), pair[0]))[1]
        WalkBin.update(person=by, taken=clock.now()).where(WalkBin.id == chosen.id).execute()
        return get_walk_bin(chosen.id)


def _bin_priority(walk_bin: WalkBinRecord, by: int) -> tuple[bool, bool]:
    return not (walk_bin.busy and walk_bin.person_id == by), walk_bin.state == "recount" and walk_bin.person_id == by


def get_walk_bin(walk_bin_id: int) -> WalkBinRecord:
    """Return a bin of a walk."""
    row = WalkBin.get_by_id(walk_bin_id)
    return _bin_record(row, count_rounds(walk_bin_id))


def count_rounds(walk_bin_id: int) -> int:
    """Return how many times a bin of a walk was counted."""
    return max(
        (
            count_entry.round
            for count_entry in CountEntry.select(CountEntry.round).where(CountEntry.walk_bin == walk_bin_id)
        ),
        default=0,
    )


def open_walk_row(walk_id: int) -> Any:
    """Return the row of a walk that is not ended; raise Conflict for one that is."""
    row = get_row(CountWalk, walk_id, "count walk")
    if row.ended is not None:
        raise Conflict("This walk is ended: start another one.", reason="walk_ended")
    return row


def walk_bin_row(walk_id: int, bin_id: int) -> Any:
    """Return the row of a bin in a walk; raise Conflict for one that is not in it."""
    row = WalkBin.get_or_none(WalkBin.walk == walk_id, WalkBin.bin == bin_id)
    if row is None:
        name = bins.get_bin(bin_id).shown_as
        raise Conflict(f"Bin {name} is not in this walk: count it by itself on its own page.", reason="not_in_walk")
    return row


def bin_to_count(walk_id: int, bin_id: int) -> BinToCount:
    """Return what to count in a bin of a walk; a lot that ran out there last is asked for too."""
    walk, walk_bin = get_walk(walk_id), walk_bin_row(walk_id, bin_id)
    again = "The last count was a surprise: please count it once more." if walk_bin.state == "recount" else ""
    lots = [(lot, None if walk.blind else booked) for lot, booked in lots_to_count(bin_id)]
    used_up = [(lot, None if walk.blind else 0) for lot in used_up_lots(bin_id)]
    return BinToCount(
        walk, get_walk_bin(walk_bin.id), tuple(LotToCount(part(lot.part_id), lot, booked) for lot, booked in lots),
        tuple(expected_pieces(bin_id)), ledger.last_line(), again,
        tuple(LotToCount(part(lot.part_id), lot, booked) for lot, booked in used_up),
    )  # fmt: skip


def lots_to_count(bin_id: int) -> list[tuple[LotRecord, int]]:
    """Return the lots to count in a bin with what is booked: those there, else the one that ran out last."""
    held = [(holding.lot, holding.quantity) for holding in bins.holdings(bin_id=bin_id)]
    if held:
        return held
    newest = Balance.select(Balance, Lot).join(Lot).where(Balance.bin == bin_id).order_by(Lot.id.desc()).first()
    return [] if newest is None else [(from_row(LotRecord, newest.lot), 0)]


_USED_UP_LOTS = f"""
SELECT l.id FROM lots l JOIN parts p ON p.id = l.part_id
WHERE p.kept <> 'individually'
  AND (l.part_id IN (SELECT part_id FROM balances WHERE bin_id = ?)
       OR l.part_id IN (SELECT part_id FROM bins WHERE id = ?))
  AND NOT EXISTS (SELECT 1 FROM balances b WHERE b.lot_id = l.id AND b.quantity > 0)
  AND EXISTS (SELECT 1 FROM movements m WHERE m.lot_id = l.id AND m.kind = 'receive'
              AND {STANDS})
ORDER BY l.id DESC LIMIT ?
"""


def used_up_lots(bin_id: int) -> list[LotRecord]:
    """Return the newest lots of what belongs in a bin that the book says are used up, those to count left out."""
    listed = {lot_record.id for lot_record, _ in lots_to_count(bin_id)}
    ids = [int(key) for (key,) in execute(_USED_UP_LOTS, bin_id, bin_id, MAX_USED_UP_LOTS + len(listed)).fetchall()]
    chosen = [key for key in ids if key not in listed][:MAX_USED_UP_LOTS]
    return [from_row(LotRecord, lot) for lot in Lot.select().where(Lot.id << chosen).order_by(Lot.id.desc())]


def expected_pieces(bin_id: int) -> list[PieceRecord]:
    """Return the pieces that should lie in a bin: its own, less those that are out with a job."""
    out = {loan.piece_id for loan in Loan.select(Loan.piece).where(Loan.ended.is_null())}
    return [piece for piece in bins.stocked_pieces(bin_id=bin_id) if piece.id not in out]


def leave_out_bin(walk_id: int, bin_id: int) -> WalkBinRecord:
    """Take a bin out of a walk, uncounted or with its differences not booked."""
    with transaction():
        open_walk_row(walk_id)
        walk_bin = walk_bin_row(walk_id, bin_id)
        if walk_bin.state == "booked":
            raise Conflict("This bin is counted and booked already.", reason="bin_done")
        WalkBin.update(state="left out", taken=None).where(WalkBin.id == walk_bin.id).execute()
        return get_walk_bin(walk_bin.id)


def last_round_entries(walk_bin_id: int) -> Sequence[Any]:
    """Return the rows of the last count of a bin."""
    number = count_rounds(walk_bin_id)
    return list(
        CountEntry.select()
        .where(CountEntry.walk_bin == walk_bin_id, CountEntry.round == number)
        .order_by(CountEntry.id)
    )


def optional_piece(piece_id: int | None) -> PieceRecord | None:
    """Return a piece's record, or none."""
    return None if piece_id is None else from_row(PieceRecord, Piece.get_by_id(piece_id))
