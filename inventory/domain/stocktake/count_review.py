"""Reviewing what a count walk found, booking it, ending the walk; and which bins should be counted first.

What is booked is the difference that a count found, on top of all that moved since. A difference is refused as stale
when something happened since that may be the same difference again: another count, an undo of something older than
the count, a move of the lot out of the bin.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import BinRecord, Done, LotRecord, PartRecord, read
from inventory.domain.common.shop import shop
from inventory.domain.common.validation import clean, row
from inventory.domain.quality.trace import share_of_cost
from inventory.domain.stocktake.count_records import BinDiffers, CountSoon, Difference, WalkRecord
from inventory.domain.stocktake.count_walks import TO_COUNT, bin_of_walk, last_round, open_walk, piece_of, walk
from inventory.reckoning.stock.count_priority import BinPast, count_first
from inventory.store import ledger
from inventory.store.connection import run, writing
from inventory.store.fields import from_micros, to_micros
from inventory.store.tables import Bin, CountWalk, Loan, Lot, Part, Piece, Tally, WalkBin

SEARCH_MINUTES = 15  # what a wrong book costs besides: looking for what is not there (assumed)
DAY = 86_400_000_000  # microseconds


def differences(walk_id: int) -> list[BinDiffers]:
    """Return the bins of a walk whose last count differs from the book, in the order of the walk."""
    row(CountWalk, walk_id, "count walk")
    query = WalkBin.select(WalkBin, Bin).join(Bin).where(WalkBin.walk == walk_id, WalkBin.state == "counted")
    return [_bin_differs(one) for one in query.order_by(Bin.walk, Bin.name, Bin.id)]


def _bin_differs(of: Any) -> BinDiffers:
    found = [one for one in last_round(of.id) if one.counted != one.booked]
    stale = next(filter(None, (_stale(of, one) for one in found)), "")
    return BinDiffers(read(BinRecord, of.bin), tuple(_difference(of, one) for one in found), stale)


def _difference(of: Any, one: Any) -> Difference:
    lot = Lot.select(Lot, Part).join(Part).where(Lot.id == one.lot_id).get()
    return Difference(
        of.id, read(BinRecord, of.bin), read(PartRecord, lot.part), read(LotRecord, lot), piece_of(one.piece_id),
        one.booked, one.counted, one.round, one.person.shown_as if one.person_id else "", one.at,
        share_of_cost(lot, one.counted - one.booked),
    )  # fmt: skip


_SINCE = """
SELECT m.kind, o.id FROM movements m LEFT JOIN movements o ON o.id = m.reverses_id
WHERE m.bin_id = ? AND m.lot_id = ? AND m.id > ?
  AND (m.kind IN ('count', 'move', 'single out') OR (m.kind = 'reverse' AND o.id <= ?))
"""


def _stale(of: Any, one: Any) -> str:
    """Say why a difference cannot be booked any more; empty when it can."""
    if one.piece_id is not None:
        return _piece_stale(of, one)
    for kind, _ in run(_SINCE, of.bin_id, one.lot_id, one.line, one.line).fetchall():
        if kind == "count":
            return "It was counted again since: count it once more."
        if kind == "reverse":
            return "Something older than the count was undone since: count it once more."
        return "It was moved since: count it once more."
    return ""


def _piece_stale(of: Any, one: Any) -> str:
    piece = Piece.get_by_id(one.piece_id)
    if piece.bin_id != of.bin_id:
        return f"Piece {piece.name or piece.code} is not booked in this bin any more: count it once more."
    if Loan.select().where(Loan.piece == piece.id, Loan.ended.is_null()).exists():
        return f"Piece {piece.name or piece.code} is out with a job by now: count the bin once more."
    return ""


def book(walk_id: int, bin_ids: Iterable[int], *, reason: str = "", by: int | None = None) -> list[Done]:
    """Book the differences of some bins of a walk, one entry a bin; raise Conflict when one is stale."""
    with ledger.writing_lines():
        open_walk(walk_id)
        said = clean(reason, "reason", 200)
        return [_book(bin_of_walk(walk_id, key), said, by) for key in dict.fromkeys(bin_ids)]


def _book(of: Any, reason: str, by: int | None) -> Done:
    if of.state != "counted":
        raise Conflict(f"Bin {of.bin.name} has no difference that waits for review.", reason="not_counted")
    differs = _bin_differs(of)
    if differs.stale:
        raise Conflict(f"Bin {of.bin.name}: {differs.stale}", reason="stale_count")
    found = last_round(of.id)
    why = "; ".join(filter(None, (f"count walk {of.walk_id}", reason)))
    try:
        entry = ledger.append([_line(of, one, why, by) for one in found if _says_something(one)], clock.now())
    except ledger.NotThere:
        raise Conflict(
            f"Bin {of.bin.name} has by now less than the count found missing: count it once more.",
            reason="stale_count",
        ) from None
    Tally.update(entry=entry).where(Tally.id << [one.id for one in found]).execute()
    WalkBin.update(state="booked").where(WalkBin.id == of.id).execute()
    first = differs.differences[0]
    return Done(
        entry, f"The count of bin {of.bin.name} is booked.", first.part.id, first.difference, of.bin_id,
        tuple({one.lot_id for one in found}), tuple(one.piece_id for one in found if one.piece_id),
    )  # fmt: skip


def _says_something(one: Any) -> bool:
    return one.piece_id is None or one.counted != one.booked


def _line(of: Any, one: Any, why: str, by: int | None) -> ledger.Line:
    part_id = Lot.get_by_id(one.lot_id).part_id
    off = one.counted - one.booked
    return ledger.Line("count", part_id, one.lot_id, of.bin_id, off, one.piece_id, None, by, why)


def count_again(walk_id: int, bin_id: int) -> WalkRecord:
    """Send a bin whose difference is not believed back to be counted."""
    with writing():
        open_walk(walk_id)
        of = bin_of_walk(walk_id, bin_id)
        if of.state != "counted":
            raise Conflict(f"Bin {of.bin.name} has no difference that waits for review.", reason="not_counted")
        WalkBin.update(state="recount", taken=None).where(WalkBin.id == of.id).execute()
        return walk(walk_id)


def end_walk(walk_id: int) -> WalkRecord:
    """End a walk; bins not counted are left out. Raises Conflict while differences wait for review."""
    with writing():
        open_walk(walk_id)
        waiting = walk(walk_id).differ
        if waiting:
            bins = "bin has" if waiting == 1 else "bins have"
            raise Conflict(
                f"{waiting} {bins} differences not booked: book them, count them again, or leave them out.",
                reason="differences_wait",
            )
        rest = (WalkBin.walk == walk_id) & (WalkBin.state << TO_COUNT)
        WalkBin.update(state="left out", taken=None).where(rest).execute()
        CountWalk.update(ended=clock.now()).where(CountWalk.id == walk_id).execute()
        return walk(walk_id)


# ---- which to count first --------------------------------------------------------------------------------

_PAST = """
SELECT m.bin_id, SUM(CASE WHEN m.kind NOT IN ('count', 'reverse') AND m.id > COALESCE(c.last, 0) THEN 1 ELSE 0 END),
       SUM(CASE WHEN m.kind NOT IN ('count', 'reverse') AND m.id <= COALESCE(c.last, 0) THEN 1 ELSE 0 END),
       COUNT(DISTINCT CASE WHEN m.kind = 'count' THEN m.entry END),
       COUNT(DISTINCT CASE WHEN m.kind = 'count' AND m.quantity <> 0 THEN m.entry END), MIN(m.at), MAX(c.at)
FROM movements m LEFT JOIN (SELECT bin_id, MAX(id) AS last, MAX(at) AS at FROM movements WHERE kind = 'count'
  GROUP BY bin_id) c ON c.bin_id = m.bin_id
GROUP BY m.bin_id
"""
_VALUE = """
SELECT h.bin_id, SUM(h.quantity * 1.0 * l.cost_minor / l.quantity) FROM
 (SELECT bin_id, lot_id, quantity FROM balances WHERE quantity > 0
  UNION ALL SELECT bin_id, lot_id, 1 FROM pieces WHERE bin_id IS NOT NULL) h
JOIN lots l ON l.id = h.lot_id WHERE l.cost_minor IS NOT NULL AND l.quantity > 0 GROUP BY h.bin_id
"""


def count_soon(limit: int = 50) -> list[CountSoon]:
    """Return the bins that should be counted first, those with the most at stake first; empty ones are left out."""
    now = to_micros(clock.now())
    value = {int(key): float(worth) for key, worth in run(_VALUE).fetchall()}
    last: dict[int, int | None] = {}
    pasts = []
    for key, moves, before, counts, wrong, first, counted in run(_PAST).fetchall():
        last[key] = counted
        days = max(0.0, (now - int(first if counted is None else counted)) / DAY)
        pasts.append(BinPast(key, value.get(key, 0.0), int(moves), days, int(counts), int(before), int(wrong)))
    rows = {one.id: one for one in Bin.select().where(~Bin.retired, Bin.name.is_null(False)) if _holds_something(one)}
    walks = {
        one.bin_id: one.walk_id
        for one in WalkBin.select(WalkBin.bin, WalkBin.walk).join(CountWalk).where(CountWalk.ended.is_null())
    }
    nuisance = float(shop().minute_minor * SEARCH_MINUTES)
    found = count_first([one for one in pasts if one.key in rows], nuisance)
    return [
        CountSoon(
            read(BinRecord, rows[one.past.key]), one.p_wrong, round(one.at_stake), round(one.past.value_minor),
            _moment(last[one.past.key]), one.words, walks.get(one.past.key),
        )
        for one in found[:limit]
    ]  # fmt: skip


def _moment(micros: int | None) -> Any:
    return None if micros is None else from_micros(int(micros))


def _holds_something(found: Any) -> bool:
    there = "SELECT (SELECT COALESCE(SUM(quantity), 0) FROM balances WHERE bin_id = ?)"
    there += " + (SELECT COUNT(*) FROM pieces WHERE bin_id = ?)"
    return bool(run(there, found.id, found.id).fetchone()[0])
