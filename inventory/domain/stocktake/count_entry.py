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

    *line* is the one that ``bin_to_count`` gave. No difference is booked at once as counted; a usual one waits for
    review; a surprise is to be counted again, until two counts agree. Raises Conflict when the bin moved since
    *line*, Invalid when a lot of the bin was not counted.
    """
    with ledger.ledger_transaction():
        open_walk_row(walk_id)
        walk_bin = walk_bin_row(walk_id, bin_id)
        if walk_bin.state in ("booked", "left out"):
            raise Conflict("This bin is done: start another walk to count it again.", reason="bin_done")
        _check_nothing_moved(bin_id, line)
        counts = _compare(bin_id, counted, pieces or {})
        number = count_rounds(walk_bin.id) + 1
        for (lot, piece), (booked, counted_quantity) in counts.items():
            CountEntry.create(
                walk_bin=walk_bin.id, round=number, lot=lot, piece=piece, booked=booked, counted=counted_quantity,
                line=line, at=clock.now(), person=by,
            )  # fmt: skip
        state = _next_state(walk_bin.id, number, counts)
        entry = _book_agreement(walk_bin, counts, by) if state == "booked" else None
        WalkBin.update(state=state, person=by, taken=None).where(WalkBin.id == walk_bin.id).execute()
    return CountResult(get_walk_bin(walk_bin.id), _result_message(state, counts), entry)


def _check_nothing_moved(bin_id: int, line: int) -> None:
    head = ledger.last_line()
    if isinstance(line, bool) or not isinstance(line, int) or not 0 <= line <= head:
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


def _moved_since(bin_id: int, line: int, condition: str) -> bool:
    sql = f"SELECT 1 FROM movements WHERE bin_id = ? AND id > ? AND {condition} LIMIT 1"
    return execute(sql, bin_id, line).fetchone() is not None


def _compare(bin_id: int, counted: Mapping[int, int], pieces: Mapping[int, bool]) -> dict[CountKey, tuple[int, int]]:
    """Return by lot and piece what was booked and what was counted, all of the bin."""
    booked = {lot_record.id: number for lot_record, number in lots_to_count(bin_id)}
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
    counts: dict[CountKey, tuple[int, int]] = {
        (lot, None): (number, validated_quantity(counted[lot], allow_zero=True)) for lot, number in booked.items()
    }
    expected_answers = {
        piece: present for piece, present in pieces.items() if piece in expected
    }  # others went out meanwhile
    counts.update({(expected[piece], piece): (1, int(bool(present))) for piece, present in expected_answers.items()})
    return counts


def _next_state(walk_bin_id: int, number: int, counts: Mapping[CountKey, tuple[int, int]]) -> str:
    differences = {key: counted - booked for key, (booked, counted) in counts.items() if counted != booked}
    if not differences:
        return "booked"
    earlier = [_round_differences(walk_bin_id, round_number) for round_number in range(1, number)]
    if earlier:
        return "counted" if differences in earlier else "recount"
    return "recount" if any(_difference_needs_recount(key, *counts[key]) for key in differences) else "counted"


def _round_differences(walk_bin_id: int, number: int) -> dict[CountKey, int]:
    rows = CountEntry.select().where(CountEntry.walk_bin == walk_bin_id, CountEntry.round == number)
    return {(row.lot_id, row.piece_id): row.counted - row.booked for row in rows if row.counted != row.booked}


def _difference_needs_recount(key: CountKey, booked: int, counted: int) -> bool:
    lot, piece = key
    if piece is not None:
        return True
    row = Lot.select(Lot, Part).join(Part).where(Lot.id == lot).get()
    cost: Any = row.cost_minor
    unit = cost / row.quantity if cost is not None and row.quantity else None
    return needs_recount(booked, counted, unit, bulk=row.part.unit != "piece")


def _book_agreement(walk_bin: Any, counts: Mapping[CountKey, tuple[int, int]], by: int | None) -> int | None:
    """Write a line of no difference for each lot, so that the bin is known to have been counted."""
    loose = [lot for lot, piece in counts if piece is None]
    lines = [
        ledger.LedgerLine(
            "count", _part_id_of_lot(lot), lot, walk_bin.bin_id, 0, None, None, by, f"count walk {walk_bin.walk_id}"
        )
        for lot in loose
    ]
    return ledger.append_lines(lines, clock.now()) if lines else None


def _part_id_of_lot(lot_id: int) -> int:
    return int(Lot.get_by_id(lot_id).part_id)


def _result_message(state: str, counts: Mapping[CountKey, tuple[int, int]]) -> str:
    if state == "booked":
        return "As booked." if counts else "Empty, as booked."
    differing = sum(booked != counted for booked, counted in counts.values())
    what = f"{differing} {'thing differs' if differing == 1 else 'things differ'} from the book"
    if state == "recount":
        return f"{what}, which is a surprise: it will be counted once more before anybody believes it."
    return f"{what}: it waits for review."
