"""Reviewing what a count walk found, booking it, ending the walk; and which bins should be counted first.

What is booked is the difference that a count found, on top of all that moved since. A difference is refused as stale
when something happened since that may be the same difference again: another count, an undo of something older than
the count, a move of the lot out of the bin.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory.domain.catalogue.bins import part_ids_in_bin
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import ActionResult, BinRecord, LotRecord, PartRecord, from_row
from inventory.domain.common.shop import shop_config
from inventory.domain.common.validation import clean_text, get_row
from inventory.domain.quality.trace import share_of_cost
from inventory.domain.stocktake.count_records import BinDifferences, CountDifference, CountSuggestion, CountWalkRecord
from inventory.domain.stocktake.count_walks import (
    UNCOUNTED_STATES,
    get_walk,
    last_round_entries,
    open_walk_row,
    optional_piece,
    walk_bin_row,
)
from inventory.reckoning.stock.count_priority import BinCountHistory, rank_bins
from inventory.store import ledger
from inventory.store.connection import execute, transaction
from inventory.store.fields import MICROS_PER_DAY, from_micros, to_micros
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Bin, CountEntry, CountWalk, Loan, Lot, Part, Piece, WalkBin

SEARCH_MINUTES = 15  # what a wrong book costs besides: looking for what is not there (assumed)


def walk_differences(walk_id: int) -> list[BinDifferences]:
    """Return the bins of a walk whose last count differs from the book, in the order of the walk."""
    get_row(CountWalk, walk_id, "count walk")
    query = WalkBin.select(WalkBin, Bin).join(Bin).where(WalkBin.walk == walk_id, WalkBin.state == "counted")
    return [_bin_differences(row) for row in query.order_by(Bin.walk, Bin.name, Bin.id)]


def _bin_differences(walk_bin: Any) -> BinDifferences:
    entries = [entry for entry in last_round_entries(walk_bin.id) if entry.counted != entry.booked]
    stale = next(filter(None, (_stale_reason(walk_bin, entry) for entry in entries)), "")
    return BinDifferences(
        from_row(BinRecord, walk_bin.bin), tuple(_difference_record(walk_bin, entry) for entry in entries), stale
    )


def _difference_record(walk_bin: Any, entry: Any) -> CountDifference:
    lot = Lot.select(Lot, Part).join(Part).where(Lot.id == entry.lot_id).get()
    return CountDifference(
        walk_bin.id,
        from_row(BinRecord, walk_bin.bin),
        from_row(PartRecord, lot.part),
        from_row(LotRecord, lot),
        optional_piece(entry.piece_id),
        entry.booked,
        entry.counted,
        entry.round,
        entry.person.shown_as if entry.person_id else "",
        entry.at,
        share_of_cost(lot, entry.counted - entry.booked),
    )


_MOVEMENTS_SINCE = """
SELECT m.kind, o.id FROM movements m LEFT JOIN movements o ON o.id = m.reverses_id
WHERE m.bin_id = ? AND m.lot_id = ? AND m.id > ?
  AND (m.kind IN ('count', 'move', 'single out') OR (m.kind = 'reverse' AND o.id <= ?))
"""


def _stale_reason(walk_bin: Any, entry: Any) -> str:
    """Say why a difference cannot be booked any more; empty when it can."""
    if entry.piece_id is not None:
        return _stale_piece_reason(walk_bin, entry)
    for kind, _ in execute(_MOVEMENTS_SINCE, walk_bin.bin_id, entry.lot_id, entry.line, entry.line).fetchall():
        if kind == "count":
            return "It was counted again since: count it once more."
        if kind == "reverse":
            return "Something older than the count was undone since: count it once more."
        return "It was moved since: count it once more."
    return ""


def _stale_piece_reason(walk_bin: Any, entry: Any) -> str:
    piece = Piece.get_by_id(entry.piece_id)
    if piece.bin_id != walk_bin.bin_id:
        return f"Piece {piece.shown_as} is not booked in this bin any more: count it once more."
    if Loan.select().where(Loan.piece == piece.id, Loan.ended.is_null()).exists():
        return f"Piece {piece.shown_as} is out with a job by now: count the bin once more."
    return ""


def book_bins(walk_id: int, bin_ids: Iterable[int], *, reason: str = "", by: int | None = None) -> list[ActionResult]:
    """Book the differences of some bins of a walk, one entry a bin; raise Conflict when one is stale."""
    with ledger.ledger_transaction():
        open_walk_row(walk_id)
        clean_reason = clean_text(reason, "reason", 200)
        return [_book_bin(walk_bin_row(walk_id, key), clean_reason, by) for key in dict.fromkeys(bin_ids)]


def _book_bin(walk_bin: Any, reason: str, by: int | None) -> ActionResult:
    if walk_bin.state != "counted":
        raise Conflict(f"Bin {walk_bin.bin.name} has no difference that waits for review.", reason="not_counted")
    differs = _bin_differences(walk_bin)
    if differs.stale:
        raise Conflict(f"Bin {walk_bin.bin.name}: {differs.stale}", reason="stale_count")
    entries = last_round_entries(walk_bin.id)
    note = "; ".join(filter(None, (f"count walk {walk_bin.walk_id}", reason)))
    try:
        entry = ledger.append_lines(
            [_ledger_line(walk_bin, row, note, by) for row in entries if _needs_line(row)], clock.now()
        )
    except ledger.InsufficientStock:
        raise Conflict(
            f"Bin {walk_bin.bin.name} has by now less than the count found missing: count it once more.",
            reason="stale_count",
        ) from None
    CountEntry.update(entry=entry).where(CountEntry.id << [row.id for row in entries]).execute()
    WalkBin.update(state="booked").where(WalkBin.id == walk_bin.id).execute()
    first = differs.differences[0]
    return ActionResult(
        entry, f"The count of bin {walk_bin.bin.name} is booked.", first.part.id, first.difference, walk_bin.bin_id,
        tuple({row.lot_id for row in entries}), tuple(row.piece_id for row in entries if row.piece_id),
    )  # fmt: skip


def _needs_line(entry: Any) -> bool:
    return entry.piece_id is None or entry.counted != entry.booked


def _ledger_line(walk_bin: Any, entry: Any, note: str, by: int | None) -> ledger.LedgerLine:
    part_id = Lot.get_by_id(entry.lot_id).part_id
    difference = entry.counted - entry.booked
    return ledger.LedgerLine(
        "count", part_id, entry.lot_id, walk_bin.bin_id, difference, entry.piece_id, None, by, note
    )


def request_recount(walk_id: int, bin_id: int) -> CountWalkRecord:
    """Send a bin whose difference is not believed back to be counted."""
    with transaction():
        open_walk_row(walk_id)
        walk_bin = walk_bin_row(walk_id, bin_id)
        if walk_bin.state != "counted":
            raise Conflict(f"Bin {walk_bin.bin.name} has no difference that waits for review.", reason="not_counted")
        WalkBin.update(state="recount", taken=None).where(WalkBin.id == walk_bin.id).execute()
        return get_walk(walk_id)


def end_walk(walk_id: int) -> CountWalkRecord:
    """End a walk; bins not counted are left out. Raises Conflict while differences wait for review."""
    with transaction():
        open_walk_row(walk_id)
        waiting = get_walk(walk_id).differ
        if waiting:
            bins = "bin has" if waiting == 1 else "bins have"
            raise Conflict(
                f"{waiting} {bins} differences not booked: book them, count them again, or leave them out.",
                reason="differences_wait",
            )
        rest = (WalkBin.walk == walk_id) & (WalkBin.state << UNCOUNTED_STATES)
        WalkBin.update(state="left out", taken=None).where(rest).execute()
        CountWalk.update(ended=clock.now()).where(CountWalk.id == walk_id).execute()
        return get_walk(walk_id)


# ---- which to count first --------------------------------------------------------------------------------

_COUNT_HISTORY = """
SELECT m.bin_id, SUM(CASE WHEN m.kind NOT IN ('count', 'reverse') AND m.id > COALESCE(c.last, 0) THEN 1 ELSE 0 END),
       SUM(CASE WHEN m.kind NOT IN ('count', 'reverse') AND m.id <= COALESCE(c.last, 0) THEN 1 ELSE 0 END),
       COUNT(DISTINCT CASE WHEN m.kind = 'count' THEN m.entry END),
       COUNT(DISTINCT CASE WHEN m.kind = 'count' AND m.quantity <> 0 THEN m.entry END), MIN(m.at), MAX(c.at)
FROM movements m LEFT JOIN (SELECT bin_id, MAX(id) AS last, MAX(at) AS at FROM movements WHERE kind = 'count'
  GROUP BY bin_id) c ON c.bin_id = m.bin_id
GROUP BY m.bin_id
"""
_BIN_VALUES = f"""
SELECT h.bin_id, SUM(h.quantity * 1.0 * l.cost_minor / l.quantity) FROM {IN_BINS} h
JOIN lots l ON l.id = h.lot_id WHERE l.cost_minor IS NOT NULL AND l.quantity > 0 GROUP BY h.bin_id
"""


def suggest_counts(limit: int = 50) -> list[CountSuggestion]:
    """Return the bins that should be counted first, those with the most at stake first; empty ones are left out."""
    now = to_micros(clock.now())
    value = {int(key): float(worth) for key, worth in execute(_BIN_VALUES).fetchall()}
    last: dict[int, int | None] = {}
    histories = []
    for key, moves, before, counts, wrong, first, counted in execute(_COUNT_HISTORY).fetchall():
        last[key] = counted
        days = max(0.0, (now - int(first if counted is None else counted)) / MICROS_PER_DAY)
        histories.append(
            BinCountHistory(key, value.get(key, 0.0), int(moves), days, int(counts), int(before), int(wrong))
        )
    rows = {
        bin_.id: bin_
        for bin_ in Bin.select().where(~Bin.retired, Bin.name.is_null(False))
        if part_ids_in_bin(bin_.id)
    }
    walks = {
        walk_bin.bin_id: walk_bin.walk_id
        for walk_bin in WalkBin.select(WalkBin.bin, WalkBin.walk).join(CountWalk).where(CountWalk.ended.is_null())
    }
    nuisance = float(shop_config().minute_minor * SEARCH_MINUTES)
    ranked = rank_bins([history for history in histories if history.key in rows], nuisance)
    return [
        CountSuggestion(
            from_row(BinRecord, rows[rank.past.key]), rank.p_wrong, round(rank.at_stake),
            round(rank.past.value_minor), _optional_time(last[rank.past.key]), rank.words, walks.get(rank.past.key),
        )
        for rank in ranked[:limit]
    ]  # fmt: skip


def _optional_time(micros: int | None) -> Any:
    return None if micros is None else from_micros(int(micros))


def _has_stock(bin_: Any) -> bool:
    sql = "SELECT (SELECT COALESCE(SUM(quantity), 0) FROM balances WHERE bin_id = ?)"
    sql += " + (SELECT COUNT(*) FROM pieces WHERE bin_id = ?)"
    return bool(execute(sql, bin_.id, bin_.id).fetchone()[0])
