"""Taking in what was counted in a bin of a walk: compared with the book, booked when it agrees, else kept for review.

A count answers for one moment: it carries the end of the ledger at which it began, and is refused when the bin moved
before it came in. What is booked later is the difference, not the number, so pulls in between are neither lost nor
booked twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.domain.catalogue import bins
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.validation import validated_quantity
from inventory.domain.stocktake.count_records import CountResult
from inventory.domain.stocktake.count_walks import (
    count_rounds,
    expected_pieces,
    get_walk_bin,
    lots_to_count,
    open_walk_row,
    used_up_lots,
    walk_bin_row,
)
from inventory.reckoning.stock.count_priority import needs_recount
from inventory.store import ledger
from inventory.store.connection import execute
from inventory.store.tables import CountEntry, Lot, Part, WalkBin

CountKey = tuple[int, int | None]  # lot, and piece or none


def enter_count(
    walk_id: int, bin_id: int, counted: Mapping[int, int], *, pieces: Mapping[int, bool] | None = None, line: int,
    by: int | None = None,
) -> CountResult:  # fmt: skip
    """Note what was counted in a bin: base units by lot, and of each piece that was asked for whether it is there.

    *line* is the one that ``to_count`` gave. No difference is booked at once as counted; a usual one waits for
    review; a surprise is to be counted again, until two counts agree. Raises Conflict when the bin moved since
    *line*, Invalid when a lot of the bin was not counted.
    """
    with ledger.ledger_transaction():
        open_walk_row(walk_id)
        of = walk_bin_row(walk_id, bin_id)
        if of.state in ("booked", "left out"):
            raise Conflict("This bin is done: start another walk to count it again.", reason="bin_done")
        _check_nothing_moved(bin_id, line)
        found = _compare(bin_id, counted, pieces or {})
        number = count_rounds(of.id) + 1
        for (lot, piece), (booked, there) in found.items():
            CountEntry.create(
                walk_bin=of.id, round=number, lot=lot, piece=piece, booked=booked, counted=there, line=line,
                at=clock.now(), person=by,
            )  # fmt: skip
        state = _next_state(of.id, number, found)
        entry = _book_agreement(of, found, by) if state == "booked" else None
        WalkBin.update(state=state, person=by, taken=None).where(WalkBin.id == of.id).execute()
    return CountResult(get_walk_bin(of.id), _result_message(state, found), entry)


def _check_nothing_moved(bin_id: int, line: int) -> None:
    if isinstance(line, bool) or not isinstance(line, int) or not 0 <= line <= ledger.head()[0]:
        raise Invalid("Open the page of the bin again, then count.", errors={"line": ["not a line of the ledger"]})
    if _moved_since(bin_id, line, "kind <> 'count'"):
        raise Conflict(
            "Something was taken from this bin, or put in, while you counted: count it once more.",
            reason="moved_meanwhile",
        )
    if _moved_since(bin_id, line, "quantity <> 0"):
        raise Conflict(
            "Somebody else booked a count of this bin meanwhile: count it once more.", reason="counted_too"
        )


def _moved_since(bin_id: int, line: int, such: str) -> bool:
    sql = f"SELECT 1 FROM movements WHERE bin_id = ? AND id > ? AND {such} LIMIT 1"
    return execute(sql, bin_id, line).fetchone() is not None


def _compare(bin_id: int, counted: Mapping[int, int], pieces: Mapping[int, bool]) -> dict[CountKey, tuple[int, int]]:
    """Return by lot and piece what was booked and what was counted, all of the bin."""
    booked = {one.id: number for one, number in lots_to_count(bin_id)}
    expected = {piece.id: piece.lot_id for piece in expected_pieces(bin_id)}
    booked.update(
        {lot.id: 0 for lot in used_up_lots(bin_id) if counted.get(lot.id)}
    )  # found though used up by the book
    missing = [key for key in booked if key not in counted]
    if missing:
        names = ", ".join(lot.code for lot, _ in lots_to_count(bin_id) if lot.id in missing)
        raise Invalid(
            f"Lot {names} is not counted: type how many are there, 0 if there is none.",
            errors={f"lot-{key}": ["Type how many are there."] for key in missing},
        )
    strange = ({key for key, number in counted.items() if number} - set(booked)) | (
        set(pieces) - {piece.id for piece in bins.stocked_pieces(bin_id=bin_id)}
    )
    if strange:
        raise Invalid("That is not booked in this bin: receive it as found, then count.", reason="not_in_bin")
    found: dict[CountKey, tuple[int, int]] = {
        (lot, None): (number, validated_quantity(counted[lot], allow_zero=True)) for lot, number in booked.items()
    }
    asked = {piece: seen for piece, seen in pieces.items() if piece in expected}  # others went out meanwhile
    found.update({(expected[piece], piece): (1, int(bool(seen))) for piece, seen in asked.items()})
    return found


def _next_state(walk_bin_id: int, number: int, found: Mapping[CountKey, tuple[int, int]]) -> str:
    now = {key: there - booked for key, (booked, there) in found.items() if there != booked}
    if not now:
        return "booked"
    earlier = [_round_differences(walk_bin_id, one) for one in range(1, number)]
    if earlier:
        return "counted" if now in earlier else "recount"
    return "recount" if any(_difference_needs_recount(key, *found[key]) for key in now) else "counted"


def _round_differences(walk_bin_id: int, number: int) -> dict[CountKey, int]:
    rows = CountEntry.select().where(CountEntry.walk_bin == walk_bin_id, CountEntry.round == number)
    return {(row.lot_id, row.piece_id): row.counted - row.booked for row in rows if row.counted != row.booked}


def _difference_needs_recount(key: CountKey, booked: int, counted: int) -> bool:
    lot, piece = key
    if piece is not None:
        return True
    found = Lot.select(Lot, Part).join(Part).where(Lot.id == lot).get()
    cost: Any = found.cost_minor
    unit = cost / found.quantity if cost is not None and found.quantity else None
    return needs_recount(booked, counted, unit, bulk=found.part.unit != "piece")


def _book_agreement(of: Any, found: Mapping[CountKey, tuple[int, int]], by: int | None) -> int | None:
    """Write a line of no difference for each lot, so that the bin is known to have been counted."""
    loose = [lot for lot, piece in found if piece is None]
    lines = [
        ledger.LedgerLine(
            "count", _part_id_of_lot(lot), lot, of.bin_id, 0, None, None, by, f"count walk {of.walk_id}"
        )
        for lot in loose
    ]
    return ledger.append_lines(lines, clock.now()) if lines else None


def _part_id_of_lot(lot_id: int) -> int:
    return int(Lot.get_by_id(lot_id).part_id)


def _result_message(state: str, found: Mapping[CountKey, tuple[int, int]]) -> str:
    if state == "booked":
        return "As booked." if found else "Empty, as booked."
    off = sum(booked != there for booked, there in found.values())
    what = f"{off} {'thing differs' if off == 1 else 'things differ'} from the book"
    if state == "recount":
        return f"{what}, which is a surprise: it will be counted once more before anybody believes it."
    return f"{what}: it waits for review."
